#pragma once
// One channel's way of a notice: waiting -> sending -> delivered, tried again, dead, unknown or expired. Pure: time is an
// argument, every change of a delivery comes out as a row for the journal.
//
// Policies. One message at a time. Urgent notices first, but never past an earlier one of the same symbol. A notice goes
// out at once and alone while the channel's rate allows; more than that wait a moment (urgent ones at most kGatherMost)
// and go as one digest, as do several that come late (after an outage, at the end of the quiet hours). At most
// kWaitingMost wait; beyond that the oldest that is not urgent expires, else the oldest.
#include <deque>
#include <optional>
#include <random>
#include <unordered_map>
#include <vector>

#include "adapters/channel.h"
#include "core/delivery.h"
#include "dispatch/health.h"
#include "dispatch/pace.h"
#include "dispatch/plan.h"
#include "dispatch/queued_message.h"

namespace brimwatch {

/// Counts since the start, for the status page.
struct DeliveryCounters {
  std::uint64_t delivered = 0, dead = 0, expired = 0, ended_unknown = 0;  ///< notices that came to their end
  std::uint64_t retried = 0, unknown = 0;                                 ///< attempts
  std::uint64_t overflowed = 0, digests = 0, repeats = 0;
};

class ChannelQueue {
 public:
  ChannelQueue(ChannelPlan plan, std::uint64_t seed, std::vector<DeliveryRow>& changes);

  void add(const NoticeRecord& record, Timestamp now);
  /// What was open when the program ended. What was being sent then is unknown, and is sent again with the same id. What
  /// has been acknowledged since is not repeated.
  void take_up(std::vector<OpenDelivery> open, Timestamp now);
  [[nodiscard]] std::optional<Message> due(Timestamp now);
  void on_result(const Delivery& delivery, Timestamp now);
  /// Of the message in hand, one of several recipients has these notices.
  void on_taken(const std::vector<std::string>& notice_ids, const std::string& recipient);
  void acknowledge(const std::string& notice_id, Timestamp now);
  /// The channel is no longer there: everything open ends as dead.
  void close(const std::string& reason, Timestamp now);
  /// As if nothing had come yet.
  void forget();
  /// That id is another notice's from now on; what is being sent under it stays.
  void forget(const std::string& notice_id);
  void set_plan(ChannelPlan plan);

  [[nodiscard]] std::optional<Timestamp> next_wakeup(Timestamp now) const;
  [[nodiscard]] const ChannelPlan& plan() const { return plan_; }
  [[nodiscard]] bool is_sending() const { return in_flight_.has_value(); }
  [[nodiscard]] std::size_t waiting() const;
  /// When we came to know of the oldest of those, but for what quiet hours hold; not set: none waits.
  [[nodiscard]] Timestamp oldest(Timestamp now) const;
  [[nodiscard]] Health& health() { return health_; }
  [[nodiscard]] const DeliveryCounters& counters() const { return counters_; }

  static constexpr std::size_t kWaitingMost = 10'000;
  static constexpr std::size_t kFinishedKept = 2'000;
  static constexpr Nanos kGatherMost = 5 * kSecond;
  static constexpr int kUnknownsMost = 3;  ///< for a receiver that ignores ids: more would flood it with duplicates
  static constexpr int kRepeatsMost = 12;
  static constexpr const char* kAcknowledged = "acknowledged";  ///< the reply of what need not be said again

 private:
  Item make_item(const NoticeRecord& record, DeliveryRow row, Timestamp now);
  void take_up_tried(Item item);
  void add_words(const NoticeRecord& record);
  [[nodiscard]] std::optional<Timestamp> held_until(bool urgent, Timestamp now) const;
  void bound_waiting(Timestamp now);
  void expire(Timestamp now);
  std::optional<QueuedMessage> next_parcel(Timestamp now);
  std::optional<QueuedMessage> take_due(std::deque<QueuedMessage>& parcels, Timestamp now);
  std::optional<QueuedMessage> take_waiting(Timestamp now);
  QueuedMessage take_one(const std::vector<std::size_t>& ready);
  QueuedMessage take_digest(const std::vector<std::size_t>& ready);
  [[nodiscard]] std::vector<std::size_t> ready_items(Timestamp now) const;
  [[nodiscard]] bool is_held_by_order(const Item& item) const;
  [[nodiscard]] bool is_held_by_order(const QueuedMessage& parcel) const;
  [[nodiscard]] std::optional<Timestamp> waiting_wakeup(Timestamp now) const;
  Message start(QueuedMessage parcel, Timestamp now);

  void on_delivered(QueuedMessage parcel, const Delivery& delivery, Timestamp now);
  void on_failed(QueuedMessage parcel, const Delivery& delivery, Timestamp now);
  void on_dead(QueuedMessage parcel, const Delivery& delivery, Timestamp now);
  void arrived(QueuedMessage& parcel, const std::string& reply, Timestamp now);
  void split(QueuedMessage parcel, Timestamp now);
  void finish(QueuedMessage& parcel, DeliveryState state, const std::string& reply, Timestamp now);
  void finish(Item& item, DeliveryState state, const std::string& reply, Timestamp now);
  void repeat_later(Item item, int said, Timestamp now);
  void record(const Item& item) { changes_.push_back(item.row); }
  void remember(const DeliveryRow& row);

  ChannelPlan plan_;
  std::vector<DeliveryRow>& changes_;
  std::mt19937_64 random_;
  Pace pace_;
  Health health_;
  DeliveryCounters counters_;
  std::deque<Item> waiting_;
  std::deque<QueuedMessage> retries_, repeats_;
  std::optional<QueuedMessage> in_flight_;
  std::uint64_t next_number_ = 0;
  Timestamp sent_at_, blocked_until_;
  /// Known ids: those open, and the last rows of those finished lately, so that one told twice is sent once.
  std::unordered_map<std::string, std::optional<DeliveryRow>> known_;
  std::deque<std::string> finished_;
};

}  // namespace brimwatch
