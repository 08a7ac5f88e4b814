#pragma once
// One answer of a person to the program, however it came in, as the journal keeps it.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "core/price.h"
#include "core/shares.h"
#include "core/text/timestamp.h"

namespace brimwatch {

enum class AnswerKind : std::uint8_t {
  acknowledge,  ///< a notice has been seen
  mute,         ///< a watch's notices go to the journal only for a while
  unmute,       ///< the mute ends
  drop,         ///< a watch is not watched any more
  add,          ///< one more watch
  bought,       ///< the stock is held, at one's own price
  sold,         ///< all of it, or a part, was sold
};
constexpr int kAnswerKinds = 7;

[[nodiscard]] std::string_view to_string(AnswerKind kind);
[[nodiscard]] std::optional<AnswerKind> answer_kind_of(std::string_view word);

/// Prices are in the stock's own terms on `day`: a later split does not change the row.
struct Answer {
  std::string id;  ///< unique; a second one with the same id changes nothing
  AnswerKind kind = AnswerKind::acknowledge;
  std::string who;           ///< "command line", "page", "desktop", or a device's name
  Timestamp at;              ///< by our own clock
  Timestamp time;            ///< by the feed's: it applies to ticks after this
  Date day;                  ///< the exchange's date at `time`
  std::string symbol;        ///< empty: of a notice that is about no stock
  Price pivot;               ///< of the watch
  Price price;               ///< bought, sold: the price paid or got; 0: not said
  Shares shares;             ///< bought: how many; 0: not said. sold: how many; 0: all of it
  Timestamp until;           ///< mute: the first instant that is not silent any more; 0: no time ends it
  bool under_pivot = false;  ///< mute: it ends when a price is under the pivot
  Date last_day;             ///< add: last day it is watched; Date{}: none
  std::string note;          ///< add: one's own words
  std::string notice;        ///< acknowledge: id of the notice

  bool operator==(const Answer&) const = default;
};

}  // namespace brimwatch
