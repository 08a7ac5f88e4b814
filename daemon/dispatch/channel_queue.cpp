#include "dispatch/channel_queue.h"

#include <algorithm>

#include "dispatch/backoff.h"

namespace brimwatch {
namespace {

/// A clock that was set back must not make a pause longer than the longest pause there is.
bool has_come(Timestamp when, Timestamp now, Nanos longest) { return when <= now || when - now > longest; }

void earliest(std::optional<Timestamp>& best, Timestamp candidate) {
  if (!best || candidate < *best) best = candidate;
}

}  // namespace

ChannelQueue::ChannelQueue(ChannelPlan plan, std::uint64_t seed, std::vector<DeliveryRow>& changes)
    : plan_(std::move(plan)), changes_(changes), random_(seed), pace_(plan_.per_minute), health_(plan_.name) {}

void ChannelQueue::set_plan(ChannelPlan plan) {
  if (plan.per_minute != plan_.per_minute) pace_ = Pace(plan.per_minute);
  plan_ = std::move(plan);
}

std::size_t ChannelQueue::waiting() const {
  std::size_t count = waiting_.size();
  for (const QueuedMessage& parcel : retries_) count += parcel.items.size();
  return count + (in_flight_ ? in_flight_->items.size() : 0);
}

Timestamp ChannelQueue::oldest(Timestamp now) const {
  Timestamp oldest;
  const auto look = [&oldest, now](const Item& item) {
    if (item.not_before > now) return;
    if (const Timestamp known = item.known_at(now); !oldest.is_set() || known < oldest) oldest = known;
  };
  for (const Item& item : waiting_) look(item);
  for (const QueuedMessage& parcel : retries_) std::for_each(parcel.items.begin(), parcel.items.end(), look);
  if (in_flight_) std::for_each(in_flight_->items.begin(), in_flight_->items.end(), look);
  return oldest;
}

std::optional<Timestamp> ChannelQueue::held_until(bool urgent, Timestamp now) const {
  if (urgent && plan_.urgent_passes) return std::nullopt;
  return quiet_until(plan_, now);
}

Item ChannelQueue::make_item(const NoticeRecord& record, DeliveryRow row, Timestamp now) {
  Item item{.record = record, .row = std::move(row), .not_before = {}, .waiting_since = now};
  item.number = next_number_++;
  item.row.notice_id = record.id;
  item.row.channel = plan_.name;
  if (const auto end = held_until(is_urgent(record.notice.kind), now)) item.not_before = *end;
  return item;
}

void ChannelQueue::add(const NoticeRecord& record, Timestamp now) {
  const auto [place, is_new] = known_.try_emplace(record.id);
  if (!is_new) {
    if (place->second) changes_.push_back(*place->second);  // sent before it got into the journal: say how that ended
    return;
  }
  waiting_.push_back(make_item(record, {}, now));
  bound_waiting(now);
}

void ChannelQueue::bound_waiting(Timestamp now) {
  if (waiting_.size() <= kWaitingMost) return;
  auto victim = std::find_if(waiting_.begin(), waiting_.end(),
                             [](const Item& item) { return !is_urgent(item.record.notice.kind); });
  if (victim == waiting_.end()) victim = waiting_.begin();
  ++counters_.overflowed;
  finish(*victim, DeliveryState::expired, "too many were waiting", now);
  waiting_.erase(victim);
}

void ChannelQueue::take_up(std::vector<OpenDelivery> open, Timestamp now) {
  for (OpenDelivery& one : open) {
    if (!known_.try_emplace(one.record.id).second) {
      add_words(one.record);
      continue;
    }
    Item item = make_item(one.record, std::move(one.row), now);
    item.acknowledged = one.acknowledged;
    if (item.row.state == DeliveryState::delivered && item.acknowledged) {
      finish(item, DeliveryState::delivered, kAcknowledged, now);
      continue;
    }
    if (item.row.state == DeliveryState::delivered) {
      QueuedMessage again{.items = {}, .id = {}, .next = item.row.next};
      again.items.push_back(std::move(item));
      repeats_.push_back(std::move(again));
      continue;
    }
    if (item.row.state == DeliveryState::sending) {
      ++item.row.unknowns, ++counters_.unknown;
      item.row.state = DeliveryState::pending;
      record(item);
    }
    if (item.row.attempts == 0) waiting_.push_back(std::move(item));
    else take_up_tried(std::move(item));
  }
}

/// Of one that waits already: what its words have more by now is said too.
void ChannelQueue::add_words(const NoticeRecord& record) {
  const auto look = [&record](Item& item) {
    if (item.record.id == record.id && record.text.starts_with(item.record.text)) item.record.text = record.text;
  };
  std::for_each(waiting_.begin(), waiting_.end(), look);
  for (auto* const parcels : {&retries_, &repeats_})
    for (QueuedMessage& parcel : *parcels) std::for_each(parcel.items.begin(), parcel.items.end(), look);
}

/// What went out together goes out together again.
void ChannelQueue::take_up_tried(Item item) {
  const std::string id = item.row.digest.empty() ? item.record.id : item.row.digest;
  auto same =
      std::find_if(retries_.begin(), retries_.end(), [&](const QueuedMessage& parcel) { return parcel.id == id; });
  if (same == retries_.end()) {
    retries_.push_back(
        {.items = {}, .id = id, .attempts = item.row.attempts, .unknowns = item.row.unknowns, .next = item.row.next});
    same = std::prev(retries_.end());
  }
  same->items.push_back(std::move(item));
}

std::optional<Message> ChannelQueue::due(Timestamp now) {
  health_.on_time(now);
  if (in_flight_) {
    if (now - sent_at_ >= plan_.hung_after) health_.hangs(now, sent_at_);
    return std::nullopt;
  }
  expire(now);
  if (!has_come(blocked_until_, now, kRetryMost)) return std::nullopt;
  auto parcel = next_parcel(now);
  if (!parcel) return std::nullopt;
  return start(std::move(*parcel), now);
}

std::optional<QueuedMessage> ChannelQueue::next_parcel(Timestamp now) {
  if (auto parcel = take_due(retries_, now)) return parcel;
  if (auto parcel = take_waiting(now)) return parcel;
  return take_due(repeats_, now);
}

std::optional<QueuedMessage> ChannelQueue::take_due(std::deque<QueuedMessage>& parcels, Timestamp now) {
  auto best = parcels.end();
  for (auto parcel = parcels.begin(); parcel != parcels.end(); ++parcel) {
    const Nanos longest = std::max(kRetryMost, plan_.repeat_every);
    if (!has_come(parcel->next, now, longest) || held_until(parcel->has_urgent(), now)) continue;
    if (is_held_by_order(*parcel)) continue;
    if (best == parcels.end() || parcel->next < best->next) best = parcel;
  }
  if (best == parcels.end()) return std::nullopt;
  std::optional<QueuedMessage> taken(std::move(*best));
  parcels.erase(best);
  return taken;
}

bool ChannelQueue::is_held_by_order(const Item& item) const {
  return std::any_of(retries_.begin(), retries_.end(),
                     [&](const QueuedMessage& parcel) { return parcel.holds(item.record.symbol); });
}

bool ChannelQueue::is_held_by_order(const QueuedMessage& parcel) const {
  return std::any_of(retries_.begin(), retries_.end(),
                     [&](const QueuedMessage& other) { return parcel.comes_after(other); });
}

std::vector<std::size_t> ChannelQueue::ready_items(Timestamp now) const {
  std::vector<std::size_t> ready;
  for (std::size_t i = 0; i < waiting_.size() && ready.size() < kDigestMost; ++i) {
    if (has_come(waiting_[i].not_before, now, kDayNanos) && !is_held_by_order(waiting_[i])) ready.push_back(i);
  }
  return ready;
}

std::optional<QueuedMessage> ChannelQueue::take_waiting(Timestamp now) {
  const auto ready = ready_items(now);
  if (ready.empty()) return std::nullopt;
  const auto is_overdue = [&](std::size_t i) { return waiting_[i].is_late(now) || waiting_[i].not_before.is_set(); };
  const auto waited_enough = [&](std::size_t i) {
    return is_urgent(waiting_[i].record.notice.kind) && now - waiting_[i].waiting_since >= kGatherMost;
  };
  const int allowed = pace_.allowed(now);
  if (allowed == 0 && std::none_of(ready.begin(), ready.end(), waited_enough)) return std::nullopt;
  pace_.spend(now);
  const bool many = static_cast<int>(ready.size()) > std::max(allowed, 1);
  const bool late = std::count_if(ready.begin(), ready.end(), is_overdue) >= 2;
  return many || late ? take_digest(ready) : take_one(ready);
}

/// Urgent ones first; but an earlier notice of the same symbol goes before.
QueuedMessage ChannelQueue::take_one(const std::vector<std::size_t>& ready) {
  const auto urgent =
      std::find_if(ready.begin(), ready.end(), [&](std::size_t i) { return is_urgent(waiting_[i].record.notice.kind); });
  const std::string& symbol = waiting_[urgent == ready.end() ? ready.front() : *urgent].record.symbol;
  const auto first =
      *std::find_if(ready.begin(), ready.end(), [&](std::size_t i) { return waiting_[i].record.symbol == symbol; });
  QueuedMessage parcel;
  parcel.id = waiting_[first].record.id;
  parcel.items.push_back(std::move(waiting_[first]));
  waiting_.erase(waiting_.begin() + static_cast<std::ptrdiff_t>(first));
  return parcel;
}

QueuedMessage ChannelQueue::take_digest(const std::vector<std::size_t>& ready) {
  QueuedMessage parcel;
  for (const std::size_t i : ready) parcel.items.push_back(std::move(waiting_[i]));
  for (auto i = ready.rbegin(); i != ready.rend(); ++i)
    waiting_.erase(waiting_.begin() + static_cast<std::ptrdiff_t>(*i));
  parcel.id = digest_id(parcel.items);
  for (Item& item : parcel.items) item.row.digest = parcel.id;
  ++counters_.digests;
  return parcel;
}

Message ChannelQueue::start(QueuedMessage parcel, Timestamp now) {
  ++parcel.attempts;
  if (parcel.id.empty()) {  // said again: a message of its own, or a side that knows ids would drop it
    const Item& item = parcel.items.front();
    const Nanos every = std::max<Nanos>(plan_.repeat_every, kSecond);
    parcel.repeat = static_cast<int>(std::max<Nanos>(1, (now - item.known_at(now)) / every));
    parcel.id = item.record.id + "/again-" + std::to_string(parcel.repeat);
    ++counters_.repeats;
  } else if (parcel.attempts > 1) {
    ++counters_.retried;
  }
  for (Item& item : parcel.items) {
    item.row.attempts = parcel.repeat > 0 ? item.row.attempts + 1 : parcel.attempts;
    if (parcel.repeat > 0) continue;  // it stays delivered, whatever becomes of the repetition
    item.row.state = DeliveryState::sending;
    item.row.next = {};
    record(item);
  }
  sent_at_ = now;
  Message message = message_of(parcel, plan_, now);
  in_flight_ = std::move(parcel);
  return message;
}

/// Notice by notice: what goes out together does not live together.
void ChannelQueue::expire(Timestamp now) {
  const auto is_over = [&](Item& item) {
    if (item.expires(plan_, now) > now) return false;
    finish(item, DeliveryState::expired, "too old to be of use", now);
    return true;
  };
  std::erase_if(waiting_, is_over);
  for (QueuedMessage& parcel : retries_) {
    for (Item& item : parcel.items) item.row.unknowns = std::max(item.row.unknowns, parcel.unknowns);
    std::erase_if(parcel.items, is_over);
  }
  std::erase_if(retries_, [](const QueuedMessage& parcel) { return parcel.items.empty(); });
}

void ChannelQueue::acknowledge(const std::string& notice_id, Timestamp now) {
  const auto mark = [&](QueuedMessage& parcel) {
    for (Item& item : parcel.items) item.acknowledged |= item.record.id == notice_id;
  };
  for (Item& item : waiting_) item.acknowledged |= item.record.id == notice_id;
  for (QueuedMessage& parcel : retries_) mark(parcel);
  if (in_flight_) mark(*in_flight_);
  for (auto parcel = repeats_.begin(); parcel != repeats_.end();) {
    if (parcel->items.front().record.id != notice_id) {
      ++parcel;
      continue;
    }
    finish(parcel->items.front(), DeliveryState::delivered, kAcknowledged, now);
    parcel = repeats_.erase(parcel);
  }
}

void ChannelQueue::close(const std::string& reason, Timestamp now) {
  for (Item& item : waiting_) finish(item, DeliveryState::dead, reason, now);
  for (QueuedMessage& parcel : retries_) finish(parcel, DeliveryState::dead, reason, now);
  for (QueuedMessage& parcel : repeats_) finish(parcel, DeliveryState::delivered, reason, now);
  if (in_flight_) finish(*in_flight_, DeliveryState::unknown, reason, now);
  waiting_.clear(), retries_.clear(), repeats_.clear(), in_flight_.reset();
}

void ChannelQueue::forget() {
  waiting_.clear(), retries_.clear(), repeats_.clear(), in_flight_.reset();
  known_.clear(), finished_.clear();
}

void ChannelQueue::forget(const std::string& notice_id) {
  const auto is_it = [&](const Item& item) { return item.record.id == notice_id; };
  if (in_flight_ && std::any_of(in_flight_->items.begin(), in_flight_->items.end(), is_it)) return;
  std::erase_if(waiting_, is_it);
  for (auto* const parcels : {&retries_, &repeats_}) {
    for (QueuedMessage& parcel : *parcels) std::erase_if(parcel.items, is_it);
    std::erase_if(*parcels, [](const QueuedMessage& parcel) { return parcel.items.empty(); });
  }
  known_.erase(notice_id), std::erase(finished_, notice_id);
}

std::optional<Timestamp> ChannelQueue::next_wakeup(Timestamp now) const {
  if (in_flight_) return sent_at_ + plan_.hung_after;
  std::optional<Timestamp> best = waiting_wakeup(now);
  for (const auto* parcels : {&retries_, &repeats_}) {
    for (const QueuedMessage& parcel : *parcels) {
      if (is_held_by_order(parcel)) continue;  // wakes with the one before it
      earliest(best, std::max(parcel.next, held_until(parcel.has_urgent(), now).value_or(parcel.next)));
    }
  }
  if (best && !has_come(blocked_until_, now, kRetryMost)) best = std::max(*best, blocked_until_);
  for (const Item& item : waiting_) earliest(best, item.expires(plan_, now));
  for (const QueuedMessage& parcel : retries_) earliest(best, parcel.expires(plan_, now));
  if (const auto report = health_.next_wakeup()) earliest(best, *report);
  return best;
}

std::optional<Timestamp> ChannelQueue::waiting_wakeup(Timestamp now) const {
  std::optional<Timestamp> best;
  for (const Item& item : waiting_) {
    if (is_held_by_order(item)) continue;  // wakes with the one before it
    Timestamp when = std::max(item.not_before, now);
    if (pace_.allowed(when) == 0) {
      when = std::max(when, pace_.opens());
      if (is_urgent(item.record.notice.kind)) when = std::min(when, item.waiting_since + kGatherMost);
    }
    earliest(best, when);
  }
  return best;
}

}  // namespace brimwatch
