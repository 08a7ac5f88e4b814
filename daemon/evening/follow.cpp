#include "evening/follow.h"

#include <algorithm>

#include "evening/lookup.h"

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

/// The notice that one would have bought on; nullptr: none, and `why` says why not on the first one.
const NoticeRecord* purchase(const std::vector<const NoticeRecord*>& sequel, std::string& why) {
  const NoticeRecord* first = sequel.front();
  for (const NoticeRecord* record : sequel) {
    if (record->notice.day != first->notice.day || !may_start(record->notice.kind)) continue;
    // A second crossing of the day has a line of its own; what is bought on it is counted there.
    if (record != first && record->notice.kind == NoticeKind::crossed) break;
    const std::string no = objection(record->notice);
    if (no.empty()) return record;
    if (why.empty()) why = no;
  }
  return nullptr;
}

struct Sale {
  Date day;
  Price price;
};

/// A loss-limit notice after the purchase: of its day, whose bar cannot say what came first, or of a later day that
/// `course` does not know.
std::optional<Sale> told_sale(const std::vector<const NoticeRecord*>& sequel, const Notice& start,
                              const std::vector<DailyBar>& course) {
  for (const NoticeRecord* record : sequel) {
    const Notice& notice = record->notice;
    if (notice.kind != NoticeKind::loss_limit || notice.time <= start.time) continue;
    if (notice.day == start.day || bar_on(course, notice.day) == nullptr) return Sale{notice.day, notice.price};
  }
  return std::nullopt;
}

/// The first later session that was down at the limit.
std::optional<Sale> sale_at_limit(const std::vector<DailyBar>& course, const Notice& start, int at, int last) {
  for (int i = at + 1; i <= last && start.loss_limit.is_set(); ++i) {
    const DailyBar& bar = course[static_cast<std::size_t>(i)];
    if (bar.low <= start.loss_limit) return Sale{bar.day, std::min(bar.open, start.loss_limit)};
  }
  return std::nullopt;
}

std::optional<Sale> earlier(const std::optional<Sale>& a, const std::optional<Sale>& b) {
  if (!a || !b) return a ? a : b;
  return b->day < a->day ? b : a;
}

/// Where the position stands when no limit was met: sold after the 20th session, or open at the last close.
Sale position_at(const std::vector<DailyBar>& course, int last, Followed& out, const Notice& start) {
  if (last >= 0 && course[static_cast<std::size_t>(last)].day >= start.day)
    return {course[static_cast<std::size_t>(last)].day, course[static_cast<std::size_t>(last)].close};
  out.unpriced = true;  // a close from before the purchase says nothing of it
  return {start.day, out.bought};
}

}  // namespace

Followed follow(const std::vector<const NoticeRecord*>& sequel, const std::vector<DailyBar>& course,
                double cost_percent) {
  Followed out;
  const NoticeRecord* record = purchase(sequel, out.why);
  if (record == nullptr) return out;
  const Notice& start = record->notice;
  out.taken = true;
  out.bought = start.price;
  out.why = record == sequel.front()
                ? "heavy at the crossing, inside the range"
                : "heavy later in the day (" + std::string(to_string(start.kind)) + "), inside the range";
  const int at = last_bar_by(course, start.day), last = std::min(static_cast<int>(course.size()) - 1, at + kSpans.back());
  auto sale = earlier(told_sale(sequel, start, course), sale_at_limit(course, start, at, last));
  const bool over = at + kSpans.back() < static_cast<int>(course.size());
  if (sale && over && sale->day > course[static_cast<std::size_t>(last)].day)
    sale.reset();  // sold before that, at the 20th close
  out.at_limit = sale.has_value();
  out.open = !sale && !over;
  if (!sale) sale = position_at(course, last, out, start);
  out.sold = sale->price;
  out.sold_on = sale->day;
  const double cost = cost_percent / 100;
  out.result = 100 * (out.sold.as_double() * (1 - cost) / (out.bought.as_double() * (1 + cost)) - 1);
  return out;
}

}  // namespace brimwatch
