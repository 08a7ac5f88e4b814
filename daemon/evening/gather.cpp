#include "evening/gather.h"

#include <algorithm>
#include <set>

#include "bars/faults.h"
#include "evening/adjust.h"
#include "evening/lookup.h"
#include "evening/own_bars.h"
#include "files/daily_file.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

constexpr int kMostDays = 2000;
/// Calendar days. Before: of a watch that has crossed, whether it was armed again. After: what became of a purchase,
/// which is sold after twenty sessions at the latest.
constexpr int kDaysBefore = 120, kDaysAfter = 45;

Status read_notices(Journal& journal, ReviewInput& into) {
  NoticeQuery query;
  query.from = into.options.from - kDaysBefore;
  query.to = into.options.to + kDaysAfter;
  return journal.each_notice(query, [&](const NoticeRecord& record) {
    into.notices.push_back(record);
    return true;
  });
}

Status read_deeds(Journal& journal, ReviewInput& into) {
  auto answers = journal.answers({}, into.options.to);
  if (!answers) return tl::unexpected(answers.error());
  for (Answer& one : *answers) {
    if (one.kind == AnswerKind::bought || one.kind == AnswerKind::sold) into.answers.push_back(std::move(one));
  }
  return {};
}

Status read_deliveries(Journal& journal, ReviewInput& into) {
  for (const NoticeRecord& record : into.notices) {
    if (!in_span(into.options, record.notice.day)) continue;
    auto rows = journal.deliveries(record.id);
    if (!rows) return tl::unexpected(rows.error());
    if (!rows->empty()) into.deliveries[record.id] = std::move(*rows);
    auto speaker = journal.speaker(record.id);
    if (!speaker) return tl::unexpected(speaker.error());
    if (!speaker->empty()) into.speakers[record.id] = std::move(*speaker);
  }
  return {};
}

Status read_days(Journal& journal, const std::set<std::string>& symbols, ReviewInput& into) {
  for (const std::string& symbol : symbols) {
    const auto days = journal.days(symbol, into.options.to + kDaysAfter + 1, kMostDays);
    if (!days) return tl::unexpected(days.error());
    for (const DayRecord& day : *days) into.days[{symbol, day.day}] = day;
  }
  // Generous at both ends: trade dates are local, holes are instants.
  const auto holes = journal.holes(Timestamp{into.options.from.days * kDayNanos - kDayNanos},
                                   Timestamp{(into.options.to.days + 2) * kDayNanos});
  if (!holes) return tl::unexpected(holes.error());
  into.holes = *holes;
  return {};
}

std::vector<BarDoubt> by_day(const std::vector<BarFinding>& findings) {
  std::vector<BarDoubt> out;
  for (const BarFinding& finding : findings)
    for (const Date day : finding.days) out.push_back({day, finding.fault == BarFault::split, finding.text});
  std::stable_sort(out.begin(), out.end(), [](const BarDoubt& a, const BarDoubt& b) { return a.day < b.day; });
  return out;
}

void keep_days_of(std::vector<DailyBar>& bars, const std::vector<DailyBar>& trusted) {
  std::erase_if(bars, [&](const DailyBar& one) { return bar_on(trusted, one.day) == nullptr; });
}

/// Of the span and what follows it: what is doubtful is said, and judges nothing; what is to be left out goes.
void doubt_bars(const std::string& path, DailySeries& series, const ReviewSources& sources, Gathered& into) {
  const auto known = sources.events.find(series.symbol);
  std::vector<PriceEvent> splits = known == sources.events.end() ? std::vector<PriceEvent>{} : known->second;
  for (const SplitOn& split : series.splits) add_split(splits, split);
  DailySeries trusted = series;
  adjust_bars(trusted.bars, splits);
  BarQuestion question{sources.checks, sources.sessions};
  question.look_back = static_cast<int>(series.bars.size()) - last_bar_by(series.bars, into.input.options.from - 1);
  const TrustedBars found = treat(trusted, question);
  if (trusted.bars.size() != series.bars.size()) keep_days_of(series.bars, trusted.bars);
  if (auto doubts = by_day(found.doubts); !doubts.empty()) into.input.doubts[series.symbol] = std::move(doubts);
  if (!found.doubts.empty())
    into.remarks.push_back(path + ": doubtful daily bars: " + in_words(found.doubts) + "; nothing is judged by them");
  if (!found.left_out.empty())
    into.remarks.push_back(path + ": doubtful daily bars: " + in_words(found.left_out) + "; left out");
}

/// `events` gets the splits that a file tells of itself.
void read_bars(const ReviewSources& sources, const std::set<std::string>& symbols, Gathered& into, PriceEvents& events) {
  const std::string& history = sources.history;
  if (history.empty()) {
    into.remarks.emplace_back(
        "no daily bars were given: volume is the feed's own count, and what came after is not known");
    return;
  }
  DailyStore store(history);
  for (const std::string& symbol : symbols) {
    const std::string path = store.file_of(symbol);
    if (path.empty()) {
      into.remarks.push_back(symbol + ": no daily bars at " + history + "/" + symbol + ".csv");
      continue;
    }
    auto series = store.read(symbol, DailyRows::readable);
    if (series) {
      if (series->skipped > 0)
        into.remarks.push_back(
            series->first_problem +
            (series->skipped > 1 ? ", and " + std::to_string(series->skipped - 1) + " more of " + path : std::string()));
      series->symbol = symbol;
      doubt_bars(path, *series, sources, into);
      for (const SplitOn& split : series->splits) add_split(events[symbol], split);
      into.input.bars[symbol] = std::move(series->bars);
    } else {
      into.remarks.push_back(series.error().text);
    }
  }
}

void read_index(const std::string& path, Gathered& into) {
  if (path.empty()) return;
  auto series = read_daily(path, DailyRows::readable);
  if (series) into.input.index = std::move(series->bars);
  else into.remarks.push_back(series.error().text + "; outcomes are not set against the market's");
}

}  // namespace

Result<std::optional<Date>> last_day(Journal& journal) {
  std::optional<Date> out;
  NoticeQuery query;
  query.limit = 1;
  const auto done = journal.each_notice(query, [&](const NoticeRecord& record) {
    out = record.notice.day;
    return true;
  });
  if (!done) return tl::unexpected(done.error());
  return out;
}

Result<Gathered> gather(Journal& journal, const ReviewSources& sources, const ReviewOptions& options) {
  Gathered out;
  out.input.options = options;
  out.input.watches = sources.watches;
  if (auto done = read_notices(journal, out.input); !done) return tl::unexpected(done.error());
  if (auto done = read_deliveries(journal, out.input); !done) return tl::unexpected(done.error());
  if (auto done = read_deeds(journal, out.input); !done) return tl::unexpected(done.error());
  std::set<std::string> symbols;
  for (const Answer& one : out.input.answers) symbols.insert(one.symbol);
  for (const NoticeRecord& record : out.input.notices) {
    if (record.notice.pivot.is_set() && in_span(options, record.notice.day)) symbols.insert(record.symbol);
  }
  for (const ReviewWatch& watch : out.input.watches) symbols.insert(watch.symbol);
  if (auto done = read_days(journal, symbols, out.input); !done) return tl::unexpected(done.error());
  PriceEvents events = sources.events;
  read_bars(sources, symbols, out, events);
  adjust_to_last_bar(out.input, events);
  read_index(sources.index, out);
  if (sources.base_rates) out.input.base_rates = base_rates_of(out.input, sources.history, sources.events, out.remarks);
  if (std::string losses = journal.losses(); !losses.empty()) out.remarks.push_back(std::move(losses));
  return out;
}

}  // namespace brimwatch
