#include "desk/desk_view.h"

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include "desk/mute.h"

namespace brimwatch {
namespace {

void describe_session(const Calendar& calendar, Timestamp now, Snapshot& to) {
  to.day = calendar.local_date(now);
  to.session = "closed";
  if (const Session* next = calendar.at_or_after(now); next != nullptr && next->open > now) to.next_open = next->open;
  const Session* session = calendar.on(to.day);
  if (session == nullptr) return;
  to.open = session->open;
  to.close = session->close;
  to.half_day = session->half_day;
  if (now < session->open) to.session = "before the open";
  else if (session->is_open(now)) to.session = "open";
  else if (now < session->close) to.session = "break";
}

WatchRow row_of(const Watch& watch, const WatchView& view, Date today) {
  WatchRow row;
  row.symbol = watch.symbol;
  row.note = watch.note;
  row.pivot = watch.pivot;
  row.range_top = watch.range_top;
  row.loss_limit = watch.loss_limit;
  row.last = view.last;
  row.day_high = view.day_high;
  row.side = view.side;
  row.armed = view.armed;
  row.last_time = view.last_time;
  row.volume = view.volume;
  row.held = view.held;
  row.from = watch.from;
  row.until = watch.until;
  row.in_force = (!watch.from || *watch.from <= today) && (!watch.until || today <= *watch.until);
  return row;
}

/// What stands in for a price before the first trade; in terms of `today`, so that a split does not make it wrong.
Price last_close(const Desk& desk, std::uint32_t watch, Date today) {
  const std::string_view symbol = desk.settings().watches.symbol(watch);
  if (desk.histories().daily(symbol).empty()) return {};
  const std::vector<DailyBar> bars = desk.histories().daily_for(symbol, today, desk.calendar(watch));
  return bars.empty() ? Price{} : bars.back().close;
}

/// Of the newest fifty, which a normal volume is the mean of.
void describe_history(const Desk& desk, WatchRow& row) {
  constexpr std::size_t kWanted = 50;
  const std::vector<DailyBar>& bars = desk.histories().daily(row.symbol);
  const std::size_t count = std::min(bars.size(), kWanted);
  row.history_days = static_cast<int>(count);
  row.doubts = desk.histories().doubts(row.symbol);
  if (count == 0) return;
  const std::vector<Date>& own = desk.histories().own_days(row.symbol);
  row.heard_days = static_cast<int>(own.end() - std::lower_bound(own.begin(), own.end(), bars[bars.size() - count].day));
}

std::vector<std::string> names_of(const std::vector<std::string>& files) {
  std::vector<std::string> names;
  for (const std::string& file : files) names.push_back(std::filesystem::path(file).stem());
  return names;
}

}  // namespace

void describe_desk(const Desk& desk, Timestamp now, Snapshot& to) {
  describe_session(desk.main_calendar(), now, to);
  to.trend = desk.trend();
  to.rehearsal = is_rehearsal(desk.settings());
  const WatchList& watches = desk.settings().watches;
  const std::vector<std::string> lists = names_of(desk.settings().files);
  to.watches.reserve(watches.size());
  for (std::uint32_t i = 0; i < watches.size(); ++i) {
    const Watch watch = watches[i];
    const WatchView view = desk.engine().view(i, now);
    WatchRow& row = to.watches.emplace_back(row_of(watch, view, to.day));
    row.report = desk.remarks().report_after(watch.symbol, to.day);
    if (watch.file < lists.size()) row.list = lists[watch.file];
    for (const MuteCause& cause : mute_causes(desk, i, view, now)) row.mute.push_back(to_string(cause));
    if (!row.last.is_set()) row.last_close = last_close(desk, i, to.day);
    describe_history(desk, row);
  }
  to.engine = desk.engine().counters().named();
}

}  // namespace brimwatch
