#pragma once
// A desk and what people have said back to it: what live and replay do alike with an answer.
#include "answers/book.h"
#include "core/snapshot.h"
#include "desk/desk.h"

namespace brimwatch {

class AnsweredDesk {
 public:
  explicit AnsweredDesk(Desk& desk) : desk_(desk) {}

  /// The book of before the first tick, and what is held by it. Lists are laid over by whoever puts settings in force.
  void begin_with(AnswerBook book, Date today);
  [[nodiscard]] const AnswerBook& book() const { return book_; }
  /// False: it is known, and changes nothing. Whoever calls has put the lists of an add or a drop in force.
  bool take(const Answer& answer, Date today);
  /// A known one takes effect anew (AnswerBook::take_again).
  void take_again(const Answer& answer, Date today);
  /// A mute of the book, given to the engine once more: its watch's state came from elsewhere.
  void mute_again(const Answer& answer);
  /// At a new list and at a new day, on which a split may take effect.
  void hold_stocks(Date today);
  /// In the terms of `today`.
  [[nodiscard]] Position position(const Holding& holding, Date today) const;
  /// How many are held, into the rows of the watches by which they are.
  void describe(Snapshot& view, Date today) const;

 private:
  void take_effect(const Answer& answer, Date today);
  void let_go_of(std::string_view symbol);

  Desk& desk_;
  AnswerBook book_;
};

}  // namespace brimwatch
