#include "evening/troubles.h"

#include <algorithm>
#include <set>

#include "core/rehearsal_mark.h"
#include "core/wording.h"
#include "evening/lookup.h"

namespace brimwatch {
namespace {

void delivery_trouble(const NoticeRecord& record, const DeliveryRow& row, int late_seconds,
                      std::vector<DayTrouble>& out) {
  DayTrouble trouble{DayTrouble::Kind::not_delivered, record.notice.day, record.symbol, record.id, row.channel, {}};
  const std::string reply = row.reply.empty() ? "" : ": " + row.reply;
  switch (row.state) {
    case DeliveryState::delivered: {
      const Nanos took = row.done - record.notice.time;
      if (is_rehearsal(record)) return;  // it happened on another day than the one it was delivered on
      if (!row.done.is_set() || took <= late_seconds * kSecond) return;
      trouble.kind = DayTrouble::Kind::late;
      trouble.why = "arrived " + span_text(took) + " after it happened";
      if (row.attempts > 1) trouble.why += ", at attempt " + std::to_string(row.attempts);
      break;
    }
    case DeliveryState::expired:
      trouble.why = "given up because it had become too old, after " + std::to_string(row.attempts) + " attempts" + reply;
      break;
    case DeliveryState::dead:
      trouble.why = "refused for good" + reply;
      break;
    case DeliveryState::unknown:
      trouble.why = "it is not known whether it arrived" + reply;
      break;
    case DeliveryState::pending:
    case DeliveryState::sending:
      trouble.why = "still waiting after " + std::to_string(row.attempts) + " attempts" + reply;
      break;
  }
  out.push_back(std::move(trouble));
}

void delivery_troubles(const ReviewInput& input, std::vector<DayTrouble>& out) {
  for (const NoticeRecord& record : input.notices) {
    if (!in_span(input.options, record.notice.day)) continue;
    const auto rows = input.deliveries.find(record.id);
    if (rows == input.deliveries.end()) continue;
    for (const DeliveryRow& row : rows->second) delivery_trouble(record, row, input.options.late_seconds, out);
  }
}

void blind_troubles(const ReviewInput& input, std::vector<DayTrouble>& out) {
  for (const NoticeRecord& record : input.notices) {
    if (!record.notice.in_hole || !in_span(input.options, record.notice.day)) continue;
    std::string why = "happened while the feed was blind; told when it saw again";
    for (const Hole& hole : input.holes) {
      if (hole.to > record.notice.time || record.notice.time - hole.to > kHour) continue;
      if (!hole.symbol.empty() && hole.symbol != record.symbol) continue;
      why = "happened while " + hole.feed + " was blind for " + span_text(hole.to - hole.from) +
            (hole.why.empty() ? "" : ": " + hole.why);
    }
    out.push_back({DayTrouble::Kind::blind, record.notice.day, record.symbol, record.id, {}, why});
  }
}

/// Was the watch armed on the morning of bar `i`? After a crossing it is not, until the price has been down to the re-arm
/// level. Of the crossing's own day only the close is known to come after it.
bool armed(const std::vector<DailyBar>& bars, std::size_t i, const ReviewWatch& watch,
           std::optional<Date> last_crossing) {
  if (!last_crossing || !watch.rearm_level.is_set()) return true;
  for (std::size_t k = i; k-- > 0 && bars[k].day >= *last_crossing;) {
    if ((bars[k].day == *last_crossing ? bars[k].close : bars[k].low) <= watch.rearm_level) return true;
  }
  return false;
}

DayTrouble missed(const ReviewInput& input, const ReviewWatch& watch, const DailyBar& bar) {
  const bool known = input.days.contains({watch.symbol, bar.day});
  std::string why =
      "the high of " + to_string(bar.high) + " passed the pivot " + to_string(watch.pivot) + " and no notice said so; ";
  why += known ? "the feed was up that day: was it an odd lot, an auction or a cancelled trade?"
               : "the feed has no record of that day";
  if (const std::string doubt = doubt_on(input, watch.symbol, bar.day); !doubt.empty())
    why += "; but that bar is doubtful: " + doubt;
  return {DayTrouble::Kind::missed, bar.day, watch.symbol, {}, {}, std::move(why)};
}

/// Days whose bar passed the pivot from a close under it, and of which no notice said so though the watch was armed.
void missed_of(const ReviewInput& input, const ReviewWatch& watch, const std::vector<const NoticeRecord*>& notices,
               std::vector<DayTrouble>& out) {
  std::set<Date> told;
  for (const NoticeRecord* record : notices) {
    if (is_pivot_crossing(record->notice.kind)) told.insert(record->notice.day);
  }
  const auto* bars = bars_of(input, watch.symbol);
  for (std::size_t i = 1; bars != nullptr && i < bars->size(); ++i) {
    const DailyBar& bar = (*bars)[i];
    if (!in_span(input.options, bar.day) || (watch.from && bar.day < *watch.from) ||
        (watch.until && bar.day > *watch.until))
      continue;
    if (bar.high < watch.pivot || (*bars)[i - 1].close >= watch.pivot || told.contains(bar.day)) continue;
    const auto next = told.lower_bound(bar.day);
    const auto last = next == told.begin() ? std::nullopt : std::optional<Date>(*std::prev(next));
    if (armed(*bars, i, watch, last)) out.push_back(missed(input, watch, bar));
  }
}

void missed_troubles(const ReviewInput& input, const NoticesByWatch& watches, std::vector<DayTrouble>& out) {
  static const std::vector<const NoticeRecord*> kNone;
  for (const ReviewWatch& watch : input.watches) {
    const auto notices = watches.find({watch.symbol, watch.pivot});
    missed_of(input, watch, notices == watches.end() ? kNone : notices->second, out);
  }
}

}  // namespace

std::string_view to_string(DayTrouble::Kind kind) {
  switch (kind) {
    case DayTrouble::Kind::missed:
      return "missed";
    case DayTrouble::Kind::not_delivered:
      return "not delivered";
    case DayTrouble::Kind::late:
      return "late";
    case DayTrouble::Kind::blind:
      return "blind";
  }
  return "";
}

std::vector<DayTrouble> troubles_of(const ReviewInput& input, const NoticesByWatch& watches) {
  std::vector<DayTrouble> out;
  missed_troubles(input, watches, out);
  blind_troubles(input, out);
  delivery_troubles(input, out);
  std::stable_sort(out.begin(), out.end(), [](const DayTrouble& a, const DayTrouble& b) { return a.day < b.day; });
  return out;
}

}  // namespace brimwatch
