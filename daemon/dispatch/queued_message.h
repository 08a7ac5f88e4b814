#pragma once
// What goes out together: one notice, or a digest of several. Once made it stays as it is, so that every attempt carries
// the same id and the same notices.
#include <string>
#include <vector>

#include "adapters/channel.h"
#include "core/delivery.h"
#include "dispatch/plan.h"

namespace brimwatch {

constexpr Nanos kLateAfter = kMinute;    ///< from then on a message says that it is late
constexpr std::size_t kDigestMost = 50;  ///< notices in one digest

/// One notice in one channel.
struct Item {
  NoticeRecord record;
  DeliveryRow row;
  Timestamp not_before;  ///< the end of the quiet hours it came in; not set: none
  Timestamp waiting_since;
  std::uint64_t number = 0;  ///< in the order in which the channel got them
  bool acknowledged = false;

  /// When we came to know of it: with delayed data later than it happened. Were that still to come, then our clock was
  /// ahead when it came, and only the time of the event is known.
  [[nodiscard]] Timestamp known_at(Timestamp now) const {
    const Timestamp came = record.notice.time + std::max<Nanos>(record.notice.age, 0);
    return came > now ? record.notice.time : came;
  }
  [[nodiscard]] Timestamp expires(const ChannelPlan& plan, Timestamp now) const;
  [[nodiscard]] bool is_late(Timestamp now) const { return now - known_at(now) > kLateAfter; }
};

struct QueuedMessage {
  std::vector<Item> items;
  std::string id;
  int attempts = 0;
  int unknowns = 0;
  int repeat = 0;  ///< the n-th time that it is said again, until acknowledged; 0: the first saying
  Timestamp next;

  [[nodiscard]] bool is_digest() const { return items.size() > 1; }
  [[nodiscard]] bool holds(std::string_view symbol) const;
  /// It has a symbol of `other`, and is the later of the two.
  [[nodiscard]] bool comes_after(const QueuedMessage& other) const;
  [[nodiscard]] bool has_urgent() const;
  /// That of the item that lives shortest.
  [[nodiscard]] Timestamp expires(const ChannelPlan& plan, Timestamp now) const;
};

/// The id of a digest: deterministic, that of no single notice.
[[nodiscard]] std::string digest_id(const std::vector<Item>& items);

/// Title and text for what is in the parcel, with what the reader must know of its lateness and of doubles.
[[nodiscard]] Message message_of(const QueuedMessage& parcel, const ChannelPlan& plan, Timestamp now);

}  // namespace brimwatch
