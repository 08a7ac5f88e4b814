#pragma once
// A person's request as typed, and the answer made of it. Nothing is changed here: the caller gets an Answer to put in
// force, or one line that says what was wrong. Pure.
//
// Every source (command line, page, desktop, a link in a mail, another member) makes a request and calls decide(); see
// config/control.schema.json for the form it has on the control socket.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "answers/book.h"
#include "config/settings.h"
#include "core/result.h"

namespace brimwatch {

struct AnswerRequest {
  AnswerKind kind = AnswerKind::acknowledge;
  std::string who{};     ///< at most 40 characters
  std::string id{};      ///< empty: one is made; the same id again changes nothing
  std::string symbol{};  ///< acknowledge: all of that stock's notices of today
  std::string pivot{};   ///< empty where the symbol has one watch
  std::string price{};   ///< bought, sold
  std::string shares{};  ///< bought, sold
  std::string span{};    ///< mute: "hour", "today" or "under"
  std::string note{}, until{};
  std::string notice{};  ///< acknowledge: its id; else, with no symbol: the notice whose watch is meant
};

/// What is known at the moment. Everything in the exchange's terms; `now` is the feed's time.
struct AnswerScene {
  const Settings& settings;  ///< in force, with what has been added
  const AnswerBook& book;
  Timestamp wall, now;
  Date day;
  Timestamp day_end;                                         ///< first instant of the next date
  std::chrono::seconds offset{};                             ///< of exchange time from UTC
  std::function<Price(std::string_view symbol)> last_price;  ///< of today or the last close known; 0: none
  std::function<Position(const Holding&)> position;
  std::function<std::optional<std::string>(std::string_view symbol)> newest_notice;  ///< id; of a stock, of today
};

/// The answer made of the request.
[[nodiscard]] Result<Answer> decide(const AnswerRequest& request, const AnswerScene& scene);

/// Of which watch a notice is, by its id; nothing where it is of none.
[[nodiscard]] std::optional<WatchKey> watch_of_notice(std::string_view id);

/// One line for whoever asked: "KLVN 48.35 is muted until 11:32:07".
[[nodiscard]] std::string in_words(const Answer& answer, const AnswerScene& scene);

/// A price bought at that is further from the last price, in percent both ways, is a typing mistake.
constexpr int kOwnPriceMost = 25;

}  // namespace brimwatch
