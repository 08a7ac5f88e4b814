#pragma once
// The result of all answers: which watches were added and dropped, which stocks are held. Made of the journal's rows
// alone, in their order, so that it is the same after every restart, on every member, in a replay. Pure.
//
// Mutes are the engine's (a price may end them): here they leave nothing.
#include <compare>
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/answer.h"

namespace brimwatch {

/// Which watch: as the list has it, before any split.
struct WatchKey {
  std::string symbol;
  Price pivot;
  auto operator<=>(const WatchKey&) const = default;
};

/// A purchase, or a sale of a part.
struct Deal {
  AnswerKind kind = AnswerKind::bought;  ///< or sold
  Price price;                           ///< sold: 0: not said
  Shares shares;                         ///< bought: 0: not said
  Date day;                              ///< price and shares are in its terms
  bool operator==(const Deal&) const = default;
};

/// A stock that its user said to have bought, by one of the watches, until all of it is sold.
struct Holding {
  WatchKey watch;   ///< that of the last purchase
  Date watch_from;  ///< the day of the first purchase by it: its pivot is in that day's terms
  std::vector<Deal> deals;
  std::vector<Answer> said;  ///< the answers that they are from
  bool operator==(const Holding&) const = default;
};

/// The sum of the deals.
struct Position {
  Price bought;   ///< the mean by shares where every purchase says how many, which no sale moves; else the last one's
  Shares shares;  ///< still held; 0: not known
};
/// `factor_since`: what a price of that day has to be multiplied by, for the splits since.
[[nodiscard]] Position position_of(const Holding& holding, const std::function<double(Date)>& factor_since);

class AnswerBook {
 public:
  AnswerBook() = default;
  explicit AnswerBook(const std::vector<Answer>& answers) {
    for (const Answer& one : answers) take(one);
  }
  /// False: it is here already, and changes nothing.
  bool take(const Answer& answer);
  /// A known one takes effect anew, as if it had come now: after others, among several machines.
  void take_again(const Answer& answer);

  [[nodiscard]] bool is_empty() const { return ids_.empty(); }
  [[nodiscard]] bool knows(const std::string& id) const { return ids_.contains(id); }
  /// The answers that added them, in the order of the watches.
  [[nodiscard]] const std::map<WatchKey, Answer>& added() const { return added_; }
  [[nodiscard]] const std::map<WatchKey, Answer>& dropped() const { return dropped_; }
  [[nodiscard]] const std::map<std::string, Holding, std::less<>>& holdings() const { return holdings_; }  ///< by symbol
  [[nodiscard]] const Holding* holding(std::string_view symbol) const;
  /// The answers that still count, in their order: enough to make the same book of, but for the ids of the others.
  [[nodiscard]] std::vector<Answer> standing() const;
  /// Nothing of it changes a list.
  [[nodiscard]] bool leaves_lists_alone() const { return added_.empty() && dropped_.empty() && holdings_.empty(); }

 private:
  void take_deal(const Answer& answer);

  std::map<std::string, std::size_t> ids_;  ///< and which one it was
  std::map<WatchKey, Answer> added_;
  std::map<WatchKey, Answer> dropped_;
  std::map<std::string, Holding, std::less<>> holdings_;
};

}  // namespace brimwatch
