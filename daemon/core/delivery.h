#pragma once
// The delivery of one notice through one channel: what the dispatcher decides and the journal keeps.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/notice.h"

namespace brimwatch {

enum class DeliveryState : std::uint8_t {
  pending,    ///< not tried yet, or to be tried again
  sending,    ///< given to the channel; after a crash nobody knows what became of it
  delivered,  ///< taken by the other side
  unknown,    ///< given up, and it may have arrived
  dead,       ///< refused for good, or given up
  expired,    ///< too old to be of use
};
[[nodiscard]] std::string_view to_string(DeliveryState state);

/// It is open until `done` is set: a delivered one stays open while it is to be repeated until acknowledged.
struct DeliveryRow {
  std::string notice_id{}, channel{};
  DeliveryState state = DeliveryState::pending;
  int attempts = 0;
  int unknowns = 0;          ///< attempts after which nobody knows whether it arrived
  Timestamp next{}, done{};  ///< when to try (or repeat) next; when it reached its final state
  std::string digest{};      ///< id of the digest it goes out in; empty: on its own
  std::string reply{};       ///< the other side's last words
  /// Of several recipients those that have it, as long as not all are done with: they are not sent it again.
  std::vector<std::string> taken_by{};

  bool operator==(const DeliveryRow&) const = default;
};

/// A delivery that has not reached its end, with what it delivers.
struct OpenDelivery {
  DeliveryRow row;
  NoticeRecord record;
  bool acknowledged = false;  ///< by a person, perhaps while no daemon was there to hear of it
};

}  // namespace brimwatch
