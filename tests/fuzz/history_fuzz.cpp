// Any bytes as what the program reads of past days: daily bars, bar files, learned curves, splits, report dates. The
// first byte chooses.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "bars/daily_text.h"
#include "volume/history.h"
#include "volume/learning/bar_decoder.h"
#include "volume/learning/learned_file.h"
#include "weekend/events.h"

namespace {

using namespace brimwatch;

void require(bool good) {
  if (!good) std::abort();
}

void check(const Error& error) { require(!error.text.empty() && error.text.find('\n') == std::string::npos); }

const Calendar& calendar() {
  static const auto kCalendar = Calendar::load("XNYS", {}).value();
  return *kCalendar;
}

void daily(std::string_view text) {
  const auto some = parse_daily(text, "KLVN", "fuzz.csv", DailyRows::readable);
  if (!some) check(some.error());
  const auto every = parse_daily(text, "KLVN", "fuzz.csv", DailyRows::every);
  if (!every) return check(every.error());
  Date before{INT32_MIN};
  for (const DailyBar& bar : every->bars) {
    require(bar.day > before && std::isfinite(bar.volume) && bar.volume >= 0 && bar.close.micros >= 0);
    before = bar.day;
  }
  const Session* const session = calendar().on(Date::of(2026, 11, 25));
  const DayPlan plan = make_plan(*session, every->bars, nullptr, std::nullopt, calendar());
  require(std::isfinite(plan.normal) && plan.normal >= 0);
}

/// Read whole and in pieces: the same rows.
void bars(std::string_view text) {
  BarDecoder whole("fuzz.csv", "KLVN", {}, calendar()), pieces("fuzz.csv", "KLVN", {}, calendar());
  Status first = whole.feed(text), second;
  for (std::size_t at = 0, n = 1; at < text.size() && second; at += n, n = n % 13 + 1)
    second = pieces.feed(text.substr(at, n));
  if (first) first = whole.finish();
  if (second) second = pieces.finish();
  require(first.has_value() == second.has_value());
  if (!first) return check(first.error());
  require(whole.rows() == pieces.rows() && whole.malformed() == pieces.malformed());
  for (SymbolRows& symbol : whole.symbols()) {
    const BarSeries series = assemble_bars(symbol.symbol, std::move(symbol.rows), {}, calendar());
    for (const SessionBars& day : series.days) require(std::isfinite(day.total) && day.total >= 0);
  }
}

/// What is read is written, and read again the same.
void learned(std::string_view text) {
  const auto all = parse_learned(text, "fuzz");
  if (!all) return check(all.error());
  const std::string written = learned_text(*all);
  const auto again = parse_learned(written, "again");
  require(again.has_value() && learned_text(*again) == written);
}

void events(std::string_view text) {
  if (const auto prices = parse_price_events(text, "fuzz.csv"); !prices) check(prices.error());
  else
    for (const auto& [symbol, list] : *prices) {
      for (const PriceEvent& event : list) require(std::isfinite(event.ratio) && event.ratio > 0);
      const Terms terms = terms_between(list, Date::of(2000, 1, 1), Date::of(2026, 1, 1));
      require(std::isfinite(terms.price_factor));
    }
  if (const auto dates = parse_report_dates(text, "fuzz.csv"); !dates) check(dates.error());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  switch (data[0] % 4) {
    case 0:
      daily(text);
      break;
    case 1:
      bars(text);
      break;
    case 2:
      learned(text);
      break;
    default:
      events(text);
  }
  return 0;
}
