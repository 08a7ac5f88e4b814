#include "shared/entries/view.h"

#include <algorithm>
#include <functional>

namespace brimwatch {

template <typename T>
const T* SharedView::sound(const LogEntry& entry, const Result<T>& read) {
  if (read) return troubles_.erase(entry.key), &*read;
  troubles_[entry.key] = read.error().text;
  return nullptr;
}

/// A log that was begun anew counts its revisions from the beginning: the value is looked at too.
bool SharedView::has_read(const LogEntry& entry) const {
  const auto known = read_.find(entry.key);
  return known != read_.end() && known->second.first == entry.changed &&
         known->second.second == std::hash<std::string>{}(entry.value);
}

bool SharedView::has_read_since(const std::string& key, Revision changed) const {
  const auto known = read_.find(key);
  return known != read_.end() && known->second.first >= changed;
}

void SharedView::note_read(const LogEntry& entry) {
  read_[entry.key] = {entry.changed, std::hash<std::string>{}(entry.value)};
}

void SharedView::forget_read(const std::string& from, const std::string& until) {
  read_.erase(read_.lower_bound(from), read_.lower_bound(until));
  troubles_.erase(troubles_.lower_bound(from), troubles_.lower_bound(until));
}

std::string SharedView::unreadable() const { return troubles_.empty() ? std::string() : troubles_.begin()->second; }

SharedChanges SharedView::apply(std::vector<LogEntry> entries) {
  std::sort(entries.begin(), entries.end(), [](const LogEntry& a, const LogEntry& b) { return a.created < b.created; });
  SharedChanges changes;
  first_new_answer_ = 0;
  for (const LogEntry& entry : entries) take(entry, changes);
  if (first_new_answer_ != 0)
    for (auto one = answers_.lower_bound({first_new_answer_, ""}); one != answers_.end(); ++one)
      changes.answers.push_back(one->second);
  return changes;
}

void SharedView::take(const LogEntry& entry, SharedChanges& changes) {
  const std::string_view kind = keys_.kind_of(entry.key);
  if (kind == "member" || kind == "leader" || has_read(entry)) return;
  note_read(entry);
  if (kind == "notice") return take_notice(entry, changes);
  if (kind == "delivery") return take_delivery(entry, changes);
  if (kind == "watch") return take_watch(entry, changes);
  if (kind == "answer") return take_answer(entry);
  if (kind == "ack") {
    const auto read = acknowledgement_from(entry.value, reads_);
    const SharedAcknowledgement* const one = sound(entry, read);
    if (one != nullptr && acknowledged_.insert(one->notice_id).second) changes.acknowledgements.push_back(*one);
  } else if (kind == "state") {
    const auto read = symbol_from(entry.value, reads_);
    if (const SymbolState* const state = sound(entry, read)) states_[state->symbol] = *state;
  } else if (kind == "left") {
    const auto read = speaker_from(entry.value, reads_);
    if (const SharedSpeaker* const speaker = sound(entry, read)) left_ = *speaker, left_at_ = entry.changed;
  } else if (kind == "list") {
    lists_[entry.key.substr(keys_.list("").size())] = entry.value;
  }
}

void SharedView::take_watch(const LogEntry& entry, SharedChanges& changes) {
  const auto read = watch_from(entry.value, reads_);
  const WatchState* const state = sound(entry, read);
  if (state == nullptr) return;
  watches_changed_[{state->symbol, state->pivot}] = entry.changed;
  WatchState& known = watches_[{state->symbol, state->pivot}];
  if (known == *state) return;
  known = *state;
  changes.watches.push_back(*state);
}

void SharedView::take_answer(const LogEntry& entry) {
  const auto read = shared_answer_from(entry.value, reads_);
  const SharedAnswer* const one = sound(entry, read);
  if (one == nullptr || !answer_ids_.insert(one->answer.id).second) return;
  answers_[{entry.created, one->answer.id}] = one->answer;
  if (first_new_answer_ == 0) first_new_answer_ = entry.created;
}

Revision SharedView::changed(const WatchKey& key) const {
  const auto found = watches_changed_.find(key);
  return found == watches_changed_.end() ? 0 : found->second;
}

void SharedView::take_notice(const LogEntry& entry, SharedChanges& changes) {
  const auto read = notice_from(entry.value, reads_);
  const SharedNotice* const notice = sound(entry, read);
  if (notice == nullptr) return;
  if (!notices_.try_emplace(notice->record.id, Kept{*notice, entry.created}).second) return;
  changes.notices.push_back(*notice);
}

void SharedView::take_delivery(const LogEntry& entry, SharedChanges& changes) {
  const auto read = delivery_from(entry.value, reads_);
  const SharedDelivery* const delivery = sound(entry, read);
  if (delivery == nullptr) return;
  const auto [known, is_new] = deliveries_.try_emplace(key_of(delivery->row), *delivery);
  if (!is_new && known->second.row == delivery->row) return;
  known->second = *delivery;
  changes.deliveries.push_back(*delivery);
}

bool SharedView::set_members(std::vector<LogEntry> entries) {
  const auto is_same = [](const LogEntry& a, const LogEntry& b) {
    return a.changed == b.changed && a.key == b.key && a.value == b.value;
  };
  if (std::equal(entries.begin(), entries.end(), member_entries_.begin(), member_entries_.end(), is_same)) return false;
  member_entries_ = std::move(entries);
  members_.clear();
  const std::string first = keys_.member("");
  forget_read(first, SharedKeys::past(first));
  for (const LogEntry& entry : member_entries_) {
    const auto read = member_from(entry.value, reads_);
    if (const SharedMember* const member = sound(entry, read)) members_[member->name] = *member;
  }
  return true;
}

void SharedView::set_leader(std::optional<LogEntry> entry) {
  leader_ = std::move(entry);
  if (!leader_) {
    speaker_.reset();
    return forget_read(keys_.leader(), SharedKeys::past(keys_.leader()));
  }
  if (has_read(*leader_)) return;
  note_read(*leader_);
  const auto read = speaker_from(leader_->value, reads_);
  const SharedSpeaker* const speaker = sound(*leader_, read);
  speaker_ = speaker == nullptr ? std::nullopt : std::optional(*speaker);
}

void SharedView::note(const SharedNotice& notice, Revision created) {
  notices_.try_emplace(notice.record.id, Kept{notice, created});
}

void SharedView::note(const WatchState& state, Revision changed) {
  if (has_read_since(keys_.watch(state.symbol, state.pivot), changed)) return;
  watches_[{state.symbol, state.pivot}] = state, watches_changed_[{state.symbol, state.pivot}] = changed;
}

void SharedView::note(const SharedDelivery& delivery, Revision changed) {
  if (has_read_since(keys_.delivery(delivery.row.notice_id, delivery.row.channel), changed)) return;
  deliveries_[key_of(delivery.row)] = delivery;
}

std::vector<OpenDelivery> SharedView::open_deliveries() const {
  std::vector<std::pair<Revision, OpenDelivery>> found;
  for (const auto& [key, delivery] : deliveries_) {
    if (delivery.row.done.is_set()) continue;
    const auto notice = notices_.find(key.first);
    if (notice == notices_.end()) continue;
    found.emplace_back(notice->second.created,
                       OpenDelivery{delivery.row, notice->second.notice.record, acknowledged_.contains(key.first)});
  }
  std::stable_sort(found.begin(), found.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<OpenDelivery> open;
  for (auto& [created, one] : found) open.push_back(std::move(one));
  return open;
}

std::vector<OpenDelivery> SharedView::open_deliveries_of(const std::string& notice_id) const {
  std::vector<OpenDelivery> open;
  const auto notice = notices_.find(notice_id);
  if (notice == notices_.end()) return open;
  for (auto at = deliveries_.lower_bound({notice_id, ""}); at != deliveries_.end() && at->first.first == notice_id; ++at)
    if (!at->second.row.done.is_set())
      open.push_back({at->second.row, notice->second.notice.record, acknowledged_.contains(notice_id)});
  return open;
}

bool SharedView::is_done(const DeliveryRow& row) const {
  const auto known = deliveries_.find(key_of(row));
  return known != deliveries_.end() && known->second.row.done.is_set();
}

bool SharedView::wants_states() const {
  return std::any_of(members_.begin(), members_.end(), [](const auto& one) { return one.second.feed == "at-takeover"; });
}

void SharedView::forget_answers_before(Date day) {
  std::erase_if(answers_, [&](const auto& one) {
    if (one.second.day >= day) return false;
    answer_ids_.erase(one.second.id);
    return true;
  });
  forget_read(keys_.answers(), keys_.answer(day, ""));
}

std::string first_id_of(Date day) { return to_string(day); }

void SharedView::forget_before(Date day) {
  const std::string first = first_id_of(day);
  notices_.erase(notices_.begin(), notices_.lower_bound(first));
  deliveries_.erase(deliveries_.begin(), deliveries_.lower_bound({first, ""}));
  acknowledged_.erase(acknowledged_.begin(), acknowledged_.lower_bound(first));
  for (const std::string& kind : {keys_.notice(""), keys_.deliveries(), keys_.acknowledgement("")})
    forget_read(kind, kind + first);
}

}  // namespace brimwatch
