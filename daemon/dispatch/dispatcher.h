#pragma once
// Who gets what and when. Pure: time comes in as an argument; what is to be sent, what the journal must note and what the
// user must hear come out. One thread. The order of use:
//
//   commit(batch, dispatcher.recipients()) -> on_written(each new notice) -> due(now) -> take_changes() to the journal;
//   when those are durable, Channel::send on the channel's thread -> on_result() -> due(now) ... ; sleep till
//   next_wakeup().
//
// A message is to be sent only after the changes that due() made are durable (or the journal is known to be broken): that
// is what lets a restart know which outcomes are unknown.
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapters/channel.h"
#include "core/delivery.h"
#include "dispatch/channel_queue.h"

namespace brimwatch {

struct Send {
  std::string channel;
  std::uint64_t ticket = 0;
  Message message;
};

class Dispatcher {
 public:
  Dispatcher(std::vector<ChannelPlan> plans, std::uint64_t seed);

  /// For Journal::commit; a copy, good on any thread, of the plans as they are now.
  [[nodiscard]] std::function<std::vector<std::string>(const NoticeRecord&)> recipients() const;

  /// New configuration: channels of the same name keep what they have, what waits for one that is gone ends as dead.
  void set_channels(std::vector<ChannelPlan> plans, Timestamp now);
  /// After a restart, before anything else.
  void take_up(std::vector<OpenDelivery> open, Timestamp now);

  /// Nothing waits here any more, and nothing is noted of what did; results of what was being sent are not heard.
  void forget();
  /// That id is another notice's from now on.
  void forget(const std::string& notice_id);
  void on_written(const NoticeRecord& record, Timestamp now);
  void on_acknowledged(const std::string& notice_id, Timestamp now);
  /// One of the channel's recipients has these notices, while the message is still in hand for others.
  void on_taken(const std::string& channel, const std::vector<std::string>& notice_ids, const std::string& recipient);
  [[nodiscard]] std::vector<Send> due(Timestamp now);
  /// A ticket that is not open any more is ignored.
  void on_result(const std::string& channel, std::uint64_t ticket, const Delivery& delivery, Timestamp now);
  /// The channel's runner has been replaced: the result of what it was sending will never come, so it is unknown.
  void on_result_lost(const std::string& channel, Timestamp now);
  [[nodiscard]] std::optional<Timestamp> next_wakeup(Timestamp now) const;

  [[nodiscard]] std::vector<DeliveryRow> take_changes();
  /// Channels that stopped getting through, or do again: make notices of them (notice_of in health.h).
  [[nodiscard]] std::vector<ChannelReport> take_reports();

  struct View {
    std::string channel;
    std::size_t waiting = 0;
    bool sending = false, in_trouble = false;
    DeliveryCounters counters;
  };
  [[nodiscard]] std::vector<View> view() const;
  /// See ChannelQueue::oldest().
  [[nodiscard]] Timestamp oldest_waiting(const std::string& channel, Timestamp now) const;

 private:
  struct Lane {
    ChannelQueue queue;
    std::uint64_t ticket = 0;
  };
  Lane* find(const std::string& channel);
  void add_lane(ChannelPlan plan);

  std::uint64_t seed_, next_ticket_ = 1;
  std::vector<DeliveryRow> changes_;
  std::vector<std::unique_ptr<Lane>> lanes_;
};

}  // namespace brimwatch
