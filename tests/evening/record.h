#pragma once
// Notices and bars of an invented stock, for the tests of the review.
#include <string>
#include <vector>

#include "core/daily.h"
#include "evening/review.h"

namespace brimwatch::testing_support {

constexpr Date kDay = Date::of(2026, 3, 2);  // a Monday

inline Price price(double value) { return Price{static_cast<std::int64_t>(value * 1e6 + 0.5)}; }

inline DailyBar bar(Date day, double open, double high, double low, double close, double volume = 1e6) {
  return {day, price(open), price(high), price(low), price(close), volume};
}

/// KLVN crosses 50.00 at 50.20 on kDay, heavy, odds 0.9, normal volume one million, heading for 1.6 (1.4 to 1.9) million.
inline NoticeRecord crossing(Weight weight = Weight::heavy, double odds = 0.9, Date day = kDay) {
  NoticeRecord out;
  Notice& n = out.notice;
  n.kind = NoticeKind::crossed;
  n.side = Side::inside;
  n.day = day;
  n.time = Timestamp{day.days * kDayNanos + 15 * kHour};
  n.price = price(50.2);
  n.pivot = price(50);
  n.range_top = price(52.5);
  n.loss_limit = price(46);
  n.volume.normal = Shares::whole(1'000'000);
  n.volume.projected = 1.6e6;
  n.volume.low = 1.4e6;
  n.volume.high = 1.9e6;
  n.volume.odds = odds;
  n.volume.weight = weight;
  out.symbol = "KLVN";
  out.id = notice_id(day, out.symbol, n.pivot, n.kind, 1);
  return out;
}

/// kDay and 25 days after it: closes at 51 on kDay with 1.5 million shares, then a quiet stretch round 52.
inline std::vector<DailyBar> calm_days() {
  std::vector<DailyBar> out = {bar(kDay - 3, 49, 49.5, 48.5, 49.2), bar(kDay, 49.3, 51.5, 49.1, 51, 1.5e6)};
  for (int i = 1; i <= 25; ++i) out.push_back(bar(kDay + i, 51.5, 52 + i * 0.1, 50.5, 52));
  return out;
}

inline ReviewInput input_of(std::vector<NoticeRecord> notices, std::vector<DailyBar> bars) {
  ReviewInput input;
  input.notices = std::move(notices);
  input.bars["KLVN"] = std::move(bars);
  input.options.from = kDay;
  input.options.to = kDay;
  return input;
}

/// What the feed itself counted on the day of the crossing.
inline DayRecord counted(std::int64_t shares, Price close) {
  DayRecord out;
  out.volume = Shares::whole(shares);
  out.close = close;
  return out;
}

/// Text without its line breaks: where a line is broken does not matter to most tests.
inline std::string flat(const std::string& text) {
  std::string out;
  for (const char c : text) {
    const char put = c == '\n' ? ' ' : c;
    if (put != ' ' || out.empty() || out.back() != ' ') out += put;
  }
  return out;
}

/// For pages whose pictures do not matter.
inline PagePictures no_pictures() {
  return {[](const Reliability&) { return std::string(); },
          [](const Crossing&, const std::vector<DailyBar>&) { return std::string(); }};
}

}  // namespace brimwatch::testing_support
