#include "evening/follow.h"

#include <algorithm>

namespace brimwatch {
namespace {

/// Why one would not buy on this notice; empty when one would.
std::string objection(const Notice& notice) {
  if (notice.side == Side::over) return "the price was above the range";
  if (notice.side != Side::inside) return "the price was not in the range";
  if (notice.volume.weight == Weight::unknown) return "the volume could not be judged";
  if (notice.volume.weight != Weight::heavy) return "the volume was " + std::string(to_string(notice.volume.weight));
  if (notice.trend == Trend::down) return "the market was down";
  if (notice.delayed) return "the data was delayed";
  return {};
}

bool may_start(NoticeKind kind) {
  return kind == NoticeKind::crossed || kind == NoticeKind::opened_over || kind == NoticeKind::volume_arrived ||
         kind == NoticeKind::back_inside;
}

void settle(Followed& out, Price price, Date day, double cost_percent) {
  out.sold = price;
  out.sold_on = day;
  const double cost = cost_percent / 100;
  out.result = 100 * (price.as_double() * (1 - cost) / (out.bought.as_double() * (1 + cost)) - 1);
}

/// A loss-limit notice of the day itself, after the purchase. Daily bars cannot say what came first on that day.
bool sold_same_day(Followed& out, const std::vector<const NoticeRecord*>& sequel, const NoticeRecord& start,
                   double cost_percent) {
  for (const NoticeRecord* record : sequel) {
    const Notice& notice = record->notice;
    if (notice.kind != NoticeKind::loss_limit || notice.day != start.notice.day || notice.time <= start.notice.time)
      continue;
    out.at_limit = true;
    settle(out, notice.price, notice.day, cost_percent);
    return true;
  }
  return false;
}

void walk(Followed& out, const std::vector<DayBar>& bars, const Notice& start, double cost_percent) {
  const int at = last_bar_by(bars, start.day);
  const int last = std::min(static_cast<int>(bars.size()) - 1, at + kSpans.back());
  for (int i = at + 1; i <= last; ++i) {
    const DayBar& bar = bars[static_cast<std::size_t>(i)];
    if (start.loss_limit.is_set() && bar.low <= start.loss_limit) {
      out.at_limit = true;
      return settle(out, std::min(bar.open, start.loss_limit), bar.day, cost_percent);
    }
  }
  out.held = at + kSpans.back() >= static_cast<int>(bars.size());
  const DayBar& end = bars[static_cast<std::size_t>(last)];
  if (end.day < start.day) return;  // a close from before the purchase says nothing of it
  settle(out, end.close, end.day, cost_percent);
}

}  // namespace

Followed follow(const std::vector<const NoticeRecord*>& sequel, const std::vector<DayBar>* bars,
                std::optional<Price> close, double cost_percent) {
  Followed out;
  const NoticeRecord* start = nullptr;
  for (const NoticeRecord* record : sequel) {
    if (record->notice.day != sequel.front()->notice.day || !may_start(record->notice.kind)) continue;
    // A second crossing of the day has a line of its own; what is bought on it is counted there.
    if (record != sequel.front() && record->notice.kind == NoticeKind::crossed) break;
    const std::string no = objection(record->notice);
    if (out.why.empty()) out.why = no;
    if (!no.empty()) continue;
    start = record;
    break;
  }
  if (start == nullptr) return out;
  out.taken = true;
  out.bought = start->notice.price;
  out.why = start == sequel.front()
                ? "heavy at the crossing, inside the range"
                : "heavy later in the day (" + std::string(to_string(start->notice.kind)) + "), inside the range";
  if (sold_same_day(out, sequel, *start, cost_percent)) return out;
  out.held = true;
  if (bars != nullptr && last_bar_by(*bars, start->notice.day) >= 0) walk(out, *bars, start->notice, cost_percent);
  if (!out.sold.is_set()) settle(out, close.value_or(out.bought), start->notice.day, cost_percent);
  return out;
}

}  // namespace brimwatch
