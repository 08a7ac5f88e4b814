// The keeper beside the other machines: what they do, and what it does when it takes its turn to speak, or gives it up.
#include <algorithm>
#include <utility>

#include "journal/batch.h"
#include "shared/may_come_twice.h"
#include "shared/newer_watch.h"
#include "shared/same_event.h"
#include "shared/shared_keeper.h"

namespace brimwatch {
namespace {

constexpr Nanos kFeedsApart = 3 * kSecond;  ///< one machine's feed may be so far behind another's
constexpr Nanos kAway = 2 * kSecond;        ///< without a word from the log

}  // namespace

// --- what the others do ---

void SharedKeeper::on_changes(const SharedChanges& changes) {
  look_at_told();
  const bool speaks = voice_.role() == Role::speaking || voice_.role() == Role::unsure;
  answers_.on_changes(changes);  // before the watches, which may know what came of them
  JournalBatch batch;
  std::vector<NoticeRecord> heard;
  for (const SharedNotice& one : changes.notices) {
    if (speaks && one.mark == mark()) continue;  // of a commit whose answer is still awaited
    heard.push_back(one.record);
    if (one.mark.by == voice_.settings().name && renumbered_.contains(one.record.id)) continue;
    batch.notices.push_back(one.record);
    batch.speakers[one.record.id] = one.mark.by;
  }
  for (const SharedDelivery& one : changes.deliveries) {
    if (speaks && one.mark == mark()) continue;
    owed_.forget(one.row);
    batch.deliveries.push_back(one.row);
  }
  for (const NoticeRecord& record : heard) end_upload(record);
  store_of_others(std::move(batch));
  if (!heard.empty()) house_.hear(heard);
  if (speaks)
    for (const NoticeRecord& record : heard) house_.take_up(voice_.view().open_deliveries_of(record.id));
  take_changed(changes.watches);
  if (voice_.role() != Role::alone) take_uploaded(changes.notices);
  for (const SharedAcknowledgement& one : changes.acknowledgements)
    if (acknowledgements_to_upload_.erase(one.notice_id) == 0) house_.acknowledge(one.notice_id, one.at);
}

void SharedKeeper::remember(JournalMemory memory) {
  if (!memory.answers.empty()) answers_.begin_with(std::move(memory.answers));
  if (!memory.told.empty()) told_before_ = std::move(memory.told);
  std::erase_if(memory.watches, [this](const WatchState& state) {
    const auto theirs = voice_.view().watches().find({state.symbol, state.pivot});
    return theirs != voice_.view().watches().end() && !is_newer(state, theirs->second);
  });
  if (!memory.watches.empty()) {
    house_.adopt(memory.watches);
    if (!voice_.leads()) {
      own_watches_.begin_with(std::move(memory.watches));
    } else {
      JournalBatch batch;
      batch.watches = std::move(memory.watches);
      submit(std::move(batch), {});
    }
  }
  if (!memory.open.empty()) open_at_start_ = std::move(memory.open);
  if (voice_.role() == Role::alone && !voice_.has_read()) take_up_alone();
}

/// What it told before, and its log never got: it was alone, and ended before it could say so. Without them the next
/// notices would get their numbers, and what was open of them nobody would send.
void SharedKeeper::look_at_told() {
  if (!voice_.has_read()) return;
  for (const RememberedNotice& one : std::exchange(told_before_, {})) {
    if (voice_.view().has_notice(one.record.id)) continue;
    uploads_.add(one.record);
    for (const DeliveryRow& row : one.rows) uploads_.note(row);
  }
}

/// What the log has now of these watches, since another has changed them.
void SharedKeeper::take_changed(const std::vector<WatchState>& changed) {
  const Role role = voice_.role();
  if (role == Role::speaking || role == Role::unsure || role == Role::alone) {
    for (const WatchState& state : changed) own_watches_.put_aside({state.symbol, state.pivot});
    return;
  }
  for (const WatchState& state : changed) owed_.forget(state);
  adopt(own_watches_.take_over(changed, world_.boot()));
}

/// Another speaks after all, while this machine did not know.
void SharedKeeper::take_put_aside() {
  if (!own_watches_.has_aside() || voice_.role() != Role::standing_by || !queue_.empty()) return;
  adopt(own_watches_.take_over_aside([this](const auto& key) { return is_waiting(key); }));
}

void SharedKeeper::adopt(const std::vector<WatchState>& states) {
  if (!states.empty()) house_.adopt(states);
}

/// One that was alone has heard more of a watch than the log knows, and than this machine, which perhaps was not there.
void SharedKeeper::take_uploaded(const std::vector<SharedNotice>& notices) {
  JournalBatch batch;
  for (const SharedNotice& one : notices) {
    if (!one.watch || own_watches_.knows(*one.watch)) continue;
    if (!is_waiting({one.watch->symbol, one.watch->pivot})) batch.watches.push_back(*one.watch);
  }
  if (batch.watches.empty()) return;
  coalesce(batch);
  house_.adopt(batch.watches);
  // Who leads writes it; who does not, knows it when it is to lead.
  submit(std::move(batch), {});
}

/// A batch that waits has it; `after` so many.
bool SharedKeeper::is_waiting(const SharedView::WatchKey& key, std::ptrdiff_t after) const {
  return std::any_of(queue_.begin() + after, queue_.end(), [&](const Submission& one) {
    return std::any_of(one.batch.watches.begin(), one.batch.watches.end(),
                       [&](const WatchState& state) { return state.symbol == key.first && state.pivot == key.second; });
  });
}

/// Kept in this machine's journal, and never told by it unless it takes their deliveries up.
void SharedKeeper::store_of_others(JournalBatch batch) {
  if (batch.empty()) return;
  for (const NoticeRecord& record : batch.notices) {
    of_others_.insert(record.id);
    held_.forget(record.id);
  }
  local_.submit(std::move(batch), {});
}

// --- taking over, and giving up ---

/// What this machine has heard and the one that speaks has not goes to the log, for that one to tell.
void SharedKeeper::look_at_held() {
  const bool reads = voice_.role() == Role::standing_by && voice_.unreached() < kAway && voice_.view().leader();
  if (!reads) return;
  for (const NoticeRecord& record : held_.take_unheard(world_.boot())) {
    uploads_.add(record);
    own_watches_.mark_as_brought({record.symbol, record.notice.pivot});
    ++counters_.alone;
  }
}

void SharedKeeper::on_lead(const Takeover& takeover) {
  world_.say(LogLevel::info, "shared: this machine speaks");
  look_at_told();
  house_.speak(voice_.view().open_deliveries());
  release_held(takeover);
  upload();
  if (!takeover.from.empty()) house_.took_over(takeover);
  go_on();
}

/// Where this engine has seen something in the last seconds that nobody has told, it was right after the one before fell
/// silent: it is told, and its watch stays as it is here.
void SharedKeeper::release_held(const Takeover& takeover) {
  const Nanos now = world_.boot();
  JournalBatch batch;
  std::set<SharedView::WatchKey> told;
  batch.notices = held_.take_untold({.silent_since = last_sure_of(voice_.other_seen()) - takeover.unheard,
                                     .spoke_alone = voice_.other_seen() > voice_.other_led()},
                                    now);
  for (const NoticeRecord& record : batch.notices) told.insert({record.symbol, record.notice.pivot});
  counters_.told_after += batch.notices.size();
  // One whose feed begins only now has heard nothing of the other watches: they are as the log has them.
  if (house_.begin_feed) own_watches_.put_all_aside();
  OwnWatches::Decided watches = own_watches_.decide({.since = last_sure_of(voice_.other_led()) - takeover.unheard,
                                                     .was_alone = takeover.was_alone,
                                                     .told = told,
                                                     .is_waiting = [this](const auto& key) { return is_waiting(key); }},
                                                    now);
  batch.watches = std::move(watches.ours);
  adopt(watches.theirs);
  if (house_.begin_feed) {
    std::vector<SymbolState> states;
    for (const auto& [symbol, state] : voice_.view().states()) states.push_back(state);
    house_.begin_feed(std::move(states));
  }
  if (house_.mute_again)
    for (const Answer& mute : answers_.mutes_to_give_again()) house_.mute_again(mute);
  if (!batch.empty()) submit(std::move(batch), {});
}

/// Of one last seen at that moment: what happened until then it has told.
Nanos SharedKeeper::last_sure_of(Nanos seen) const { return seen - voice_.settings().ttl - kFeedsApart; }

void SharedKeeper::on_stand_by(const std::string& why) {
  world_.say(LogLevel::info, "shared: this machine stands by: " + why);
  house_.stand_by();
  upload();
  go_on();
}

/// Before the log has been read, this machine's own journal is all that is known of what is open.
void SharedKeeper::take_up_alone() {
  std::vector<OpenDelivery> open = voice_.view().open_deliveries();
  if (open.empty()) open = std::exchange(open_at_start_, {});
  // Who speaks by the log meanwhile takes up the same.
  for (OpenDelivery& one : open) mark_as_alone(one.record, voice_.settings().name);
  house_.speak(std::move(open));
}

void SharedKeeper::on_alone() {
  take_up_alone();
  if (house_.begin_feed) house_.begin_feed({});
  JournalBatch batch;
  batch.notices =
      held_.take_untold({.silent_since = last_sure_of(voice_.other_seen()), .spoke_alone = true}, world_.boot());
  counters_.told_after += batch.notices.size();
  if (!batch.empty()) submit(std::move(batch), {});
  go_on();
}

void SharedKeeper::upload() {
  uploaded_at_ = world_.boot();
  for (const std::string& id : uploads_.ids()) {
    const auto is_same = [&id](const Submission& one) { return one.uploads == id; };
    if (std::any_of(queue_.begin(), queue_.end(), is_same)) continue;
    Submission one;
    one.uploads = id;
    queue_.push_back(std::move(one));
  }
  for (const std::string& id : std::exchange(acknowledgements_to_upload_, {})) acknowledge(id, world_.wall());
}

/// As it is known when its turn comes.
std::deque<SharedOperation> SharedKeeper::upload_of(const std::string& id) const {
  const NoticeRecord* const record = uploads_.record(id);
  if (record == nullptr) return {};
  const SharedWriter writer(voice_.keys(), {voice_.settings().name, 0}, voice_.format());
  const SharedView::WatchKey key{record->symbol, record->notice.pivot};
  const WatchState* const own = own_watches_.find(key);
  const WatchState* const state = own == nullptr ? owed_.watch(key) : own;
  return {writer.upload(*record, uploads_.rows(id, channels_of(*record)), state)};
}

void SharedKeeper::on_not_uploaded(const std::string& id, const LogAnswer& answer) {
  const LogPage* const page = answer.pages.empty() ? nullptr : &answer.pages[0];
  if (page == nullptr || page->entries.empty()) return;  // again
  const auto there = notice_from(page->entries[0].value, voice_.settings().reads);
  if (there) end_upload(there->record);
  else uploads_.take(id);
}

/// The log has that notice from another: what has come of it here, whoever speaks is to know. Or it has another event
/// under its number: then it goes there with the next.
void SharedKeeper::end_upload(const NoticeRecord& there) {
  const NoticeRecord* const ours = uploads_.record(there.id);
  if (ours == nullptr) return;
  if (is_another_event(there, *ours)) return upload_as_next(*ours);
  for (const DeliveryRow& row : uploads_.take(there.id))
    if (row.done.is_set() && !voice_.view().is_done(row)) owed_.add(row);
}

void SharedKeeper::upload_as_next(NoticeRecord record) {
  const std::string taken = record.id;
  std::vector<DeliveryRow> rows = uploads_.take(taken);
  while (voice_.view().has_notice(record.id) || uploads_.has(record.id)) record = with_next_number(std::move(record));
  uploads_.add(record), renumbered_.insert(record.id);
  for (DeliveryRow& row : rows) row.notice_id = record.id, uploads_.note(row);
  if (house_.give_up_number) house_.give_up_number(taken);
  if (voice_.leads()) house_.take_up(voice_.view().open_deliveries_of(taken));
}

}  // namespace brimwatch
