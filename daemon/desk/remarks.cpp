#include "desk/remarks.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <span>

#include "desk/histories.h"
#include "files/text_file.h"
#include "weekend/indicators.h"

namespace brimwatch {
namespace {

constexpr int kNearDays = 10;  ///< calendar days: two weeks of sessions

template <typename Value, typename Parse>
void read_into(const std::string& path, Parse parse, Value& value, std::vector<std::string>& problems) {
  value = {};
  if (path.empty()) return;
  const auto text = read_file(path);
  if (!text) return void(problems.push_back(text.error().text + "; its dates are not told in notices"));
  auto parsed = parse(*text, path);
  if (parsed) value = std::move(*parsed);
  else problems.push_back(parsed.error().text);
}

std::span<const DailyBar> before(const std::vector<DailyBar>& bars, Date day) {
  return {bars.data(), static_cast<std::size_t>(last_bar_by(bars, day - 1) + 1)};
}

std::string strength(const std::vector<DailyBar>& daily, const std::vector<DailyBar>& index, Date day) {
  const auto bars = before(daily, day);
  const auto market = before(index, day);
  if (bars.empty() || market.empty()) return {};
  const auto line = strength_line(bars, market);
  const auto found = strength_at(line, static_cast<int>(line.size()) - 1);
  if (!found || found->sessions < 50) return {};
  if (found->at_high)
    return "strength against the index at its highest of " + std::to_string(found->sessions) + " sessions";
  char text[96];
  std::snprintf(text, sizeof text, "strength against the index: %.0f of 100 in its range of %d sessions", found->place,
                found->sessions);
  return text;
}

std::string age(const std::vector<DailyBar>& daily, Date day, const Calendar& calendar) {
  const int missing = sessions_missing(daily, day, calendar);
  if (missing <= kFreshSessions) return {};
  const Date last = daily[static_cast<std::size_t>(last_bar_by(daily, day - 1))].day;
  return "daily bars end " + to_string(last) + ", " + std::to_string(missing) + " sessions ago";
}

bool is_about_buying(NoticeKind kind) {
  return kind == NoticeKind::crossed || kind == NoticeKind::opened_over || kind == NoticeKind::volume_arrived;
}

}  // namespace

void Remarks::load(const HistorySettings& history, std::vector<std::string>& problems) {
  read_into(history.splits, parse_price_events, events_, problems);
  read_into(history.earnings, parse_report_dates, reports_, problems);
}

bool Remarks::has_split(std::string_view symbol, Date day) const {
  const auto found = events_.find(symbol);
  return found != events_.end() &&
         std::any_of(found->second.begin(), found->second.end(),
                     [day](const PriceEvent& event) { return event.is_split() && event.day == day; });
}

std::string Remarks::at(const Notice& notice, std::string_view symbol, const Calendar& calendar,
                        const Grounds& grounds) const {
  std::string all;
  const auto add = [&all](const std::string& phrase) {
    if (phrase.empty()) return;
    if (!all.empty()) all += "; ";
    all += phrase;
  };
  const Session* session = calendar.on(notice.day);
  if (session != nullptr && session->half_day && notice.volume.so_far.micros > 0) {
    const double part = 100 * std::exp(half_day_level(*session, grounds.daily, calendar));
    add("half-day, closes at " + to_clock(session->close, calendar.offset(session->close)).substr(0, 5) +
        ": normal here is a half-day's, about " + std::to_string(std::lround(part)) + " % of a full day's");
  }
  if (!is_about_buying(notice.kind)) return all;
  add(age(grounds.daily, notice.day, calendar));
  if (!grounds.doubts.empty()) add("daily bars are doubtful: " + grounds.doubts);
  add(report_warning(reports_, symbol, notice.day - 1, kNearDays));
  add(event_warning(events_, symbol, notice.day - 1, kNearDays));
  if (notice.kind == NoticeKind::crossed) add(strength(grounds.daily, grounds.index, notice.day));
  return all;
}

}  // namespace brimwatch
