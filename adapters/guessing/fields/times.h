#pragma once
// Which of several times in a message is the trade's: it happens before it is published, sent and received. Pure.
#include <cstdint>
#include <string_view>
#include <vector>

#include "adapters/guessing/fields/in_hand.h"

namespace brimwatch {

/// The object that a value stands in.
[[nodiscard]] std::string_view object_of(std::string_view pointer);

class TimesOfMessage {
 public:
  explicit TimesOfMessage(const FieldsInHand& hand);

  /// A time of day, which no format reads, is nothing else either; of whole numbers that may as well be numbers of trades
  /// the name decides, where nothing else is a time.
  [[nodiscard]] bool is_clock(const PointerColumn& column) const;

  /// A trade happens before it is published, sent and received: of several times that pass, the earliest is the trade's.
  [[nodiscard]] bool has_earlier(std::size_t number) const;

  /// A message carried in another's envelope has its own time beside its price; that of the envelope says when it was
  /// sent. One that the envelope comes before, or that is far from it, is of something else.
  /// `row`: the object that holds the price.
  [[nodiscard]] bool has_time_in_row(std::size_t number, std::string_view row) const;

  /// Of times that are equal otherwise that of the finer unit.
  [[nodiscard]] double fineness(std::size_t number) const;

 private:
  struct Order {
    std::size_t judged = 0, before = 0, after = 0, near = 0;
  };

  /// How the times of the one stand to those of another, both in the coarser unit of the two.
  [[nodiscard]] Order order_of(std::size_t one, std::size_t another) const;

  /// The same time in a coarser unit is not an earlier one.
  [[nodiscard]] bool is_earlier(std::size_t one, std::size_t than) const;

  const FieldsInHand& hand_;
  const Table& table_;
  std::vector<std::int64_t> units_;  ///< of the columns, in nanoseconds
};

}  // namespace brimwatch
