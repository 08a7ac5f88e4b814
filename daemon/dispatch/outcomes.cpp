// What follows from the result of an attempt.
#include <algorithm>

#include "dispatch/backoff.h"
#include "dispatch/channel_queue.h"

namespace brimwatch {

void ChannelQueue::on_result(const Delivery& delivery, Timestamp now) {
  if (!in_flight_) return;
  QueuedMessage parcel = std::move(*in_flight_);
  in_flight_.reset();
  switch (delivery.outcome) {
    case Outcome::delivered:
      return on_delivered(std::move(parcel), delivery, now);
    case Outcome::retry:
    case Outcome::unknown:
      return on_failed(std::move(parcel), delivery, now);
    case Outcome::dead:
      return on_dead(std::move(parcel), delivery, now);
  }
}

void ChannelQueue::on_taken(const std::vector<std::string>& notice_ids, const std::string& recipient) {
  if (!in_flight_ || in_flight_->repeat > 0) return;  // a repetition goes to all of them again
  const auto has = [](const std::vector<std::string>& all, const std::string& one) {
    return std::find(all.begin(), all.end(), one) != all.end();
  };
  for (Item& item : in_flight_->items) {
    if (!has(notice_ids, item.record.id) || has(item.row.taken_by, recipient)) continue;
    item.row.taken_by.push_back(recipient);
    record(item);
  }
}

void ChannelQueue::on_delivered(QueuedMessage parcel, const Delivery& delivery, Timestamp now) {
  const bool was_down = health_.failures() > 1;
  health_.delivered(now);
  blocked_until_ = {};
  arrived(parcel, delivery.reply, now);
  // It gets through again: what failed before need not wait out its pause.
  if (was_down) {
    for (QueuedMessage& other : retries_) other.next = std::min(other.next, now);
  }
}

void ChannelQueue::arrived(QueuedMessage& parcel, const std::string& reply, Timestamp now) {
  for (Item& item : parcel.items) {
    if (parcel.repeat == 0) ++counters_.delivered;
    const bool again = plan_.until_acknowledged && !item.acknowledged && is_pivot_crossing(item.record.notice.kind);
    item.row.reply = reply;
    if (again) repeat_later(std::move(item), parcel.repeat, now);
    else finish(item, DeliveryState::delivered, reply, now);
  }
}

void ChannelQueue::repeat_later(Item item, int said, Timestamp now) {
  // Acknowledged while a repetition was on its way, which then failed.
  if (item.acknowledged) return finish(item, DeliveryState::delivered, kAcknowledged, now);
  const Nanos every = std::max<Nanos>(plan_.repeat_every, kSecond);
  if (said >= kRepeatsMost || now - item.known_at(now) >= kRepeatsMost * every) {
    return finish(item, DeliveryState::delivered, "repeated often enough, never acknowledged", now);
  }
  item.row.state = DeliveryState::delivered;
  item.row.next = now + every;
  record(item);
  QueuedMessage parcel;
  parcel.next = item.row.next;
  parcel.items.push_back(std::move(item));
  repeats_.push_back(std::move(parcel));
}

void ChannelQueue::on_failed(QueuedMessage parcel, const Delivery& delivery, Timestamp now) {
  health_.failed(now, delivery);
  if (delivery.outcome == Outcome::unknown) ++parcel.unknowns, ++counters_.unknown;
  if (parcel.repeat > 0) return repeat_later(std::move(parcel.items.front()), parcel.repeat, now);
  const bool flood = !plan_.id_aware && parcel.unknowns > kUnknownsMost;
  if (flood) {  // else expiry alone ends it, notice by notice
    return finish(parcel, DeliveryState::dead,
                  "given up after " + std::to_string(parcel.attempts) + " attempts: " + delivery.reply, now);
  }
  const Nanos most = parcel.has_urgent() ? std::min(kRetryMostUrgent, plan_.retry_most) : plan_.retry_most;
  parcel.next = now + retry_pause(std::max(parcel.attempts, health_.failures()), most, delivery.retry_after, random_);
  // The first failure may be this message's own; the second in a row, or a wish to wait, concerns the channel.
  if (health_.failures() > 1 || delivery.retry_after) blocked_until_ = parcel.next;
  for (Item& item : parcel.items) {
    item.row.state = DeliveryState::pending;
    item.row.unknowns = parcel.unknowns;
    item.row.next = parcel.next;
    item.row.reply = delivery.reply;
    record(item);
  }
  retries_.push_back(std::move(parcel));
}

void ChannelQueue::on_dead(QueuedMessage parcel, const Delivery& delivery, Timestamp now) {
  health_.failed(now, delivery);
  if (parcel.is_digest()) return split(std::move(parcel), now);
  // Who refused it is told as the channel's trouble; the notice itself has arrived.
  if (delivery.taken_by_some) return arrived(parcel, delivery.reply, now);
  finish(parcel, DeliveryState::dead, delivery.reply, now);
}

/// A digest that was refused may only have been too much at once: each notice gets a try of its own.
void ChannelQueue::split(QueuedMessage parcel, Timestamp now) {
  for (Item& item : parcel.items) {
    item.row.state = DeliveryState::pending;
    item.row.digest.clear();
    record(item);
    QueuedMessage single{
        .items = {}, .id = item.record.id, .attempts = parcel.attempts, .unknowns = parcel.unknowns, .next = now};
    single.items.push_back(std::move(item));
    retries_.push_back(std::move(single));
  }
}

void ChannelQueue::finish(QueuedMessage& parcel, DeliveryState state, const std::string& reply, Timestamp now) {
  for (Item& item : parcel.items) {
    item.row.unknowns = std::max(item.row.unknowns, parcel.unknowns);
    finish(item, parcel.repeat > 0 ? DeliveryState::delivered : state, reply, now);
  }
}

void ChannelQueue::finish(Item& item, DeliveryState state, const std::string& reply, Timestamp now) {
  if (item.row.unknowns > 0 && state != DeliveryState::delivered) state = DeliveryState::unknown;
  switch (state) {
    case DeliveryState::expired:
      ++counters_.expired, health_.expired(now);
      break;
    case DeliveryState::dead:
      ++counters_.dead, health_.gone();
      break;
    case DeliveryState::unknown:
      ++counters_.ended_unknown;
      break;
    case DeliveryState::pending:
    case DeliveryState::sending:
    case DeliveryState::delivered:
      break;
  }
  item.row.state = state;
  item.row.reply = reply;
  item.row.next = {};
  item.row.done = now;
  record(item);
  remember(item.row);
}

void ChannelQueue::remember(const DeliveryRow& row) {
  known_[row.notice_id] = row;
  finished_.push_back(row.notice_id);
  if (finished_.size() <= kFinishedKept) return;
  known_.erase(finished_.front());
  finished_.pop_front();
}

}  // namespace brimwatch
