#pragma once
// From daily bars to candidates: reads the files on two threads, adjusts, finds, measures, judges, and picks the best
// base of each symbol. Reads files, writes none.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/daily.h"
#include "core/result.h"
#include "weekend/events.h"
#include "weekend/facts.h"
#include "weekend/finder.h"
#include "weekend/rulebook.h"

namespace brimwatch {

/// The user's own points, for one symbol: only computed and checked.
struct NamedPoints {
  std::string symbol;
  Date base_start;
  std::optional<Date> handle_start;  ///< or the day of the middle peak; none: a flat base
};

struct PrepareInput {
  std::vector<std::string> places;  ///< files and directories of SYMBOL.csv
  std::string index;                ///< file, empty for none
  std::optional<Date> as_of;
  std::optional<Date> today;  ///< bars dated later are told and left out: one of them would make all others look stale
  std::optional<NamedPoints> named;
  PriceEvents events;
  ReportDates reports;
  RuleBook book;
  bool keep_bars = false;  ///< candidates carry the bars of their picture
  bool all = false;        ///< every base, whatever its score
  int threads = 2;
  std::function<void(std::size_t done, std::size_t files)> on_progress;  ///< now and then, on the caller's thread
};

/// A base worth a person's look, with all that is said of it.
struct Candidate {
  std::string symbol;
  Base base;
  Facts facts;
  Judgement judgement;
  std::string adjusted;      ///< splits and dividends taken out of its history
  std::string report;        ///< "reports 2026-12-03, in 8 days", or empty
  std::string ahead;         ///< splits and dividends to come, or empty
  std::vector<DayBar> bars;  ///< from some weeks before the start to the last; empty unless keep_bars
  std::vector<double> line;  ///< the relative strength line of those bars, or empty
  int first = 0;             ///< index of bars[0] in the whole series: base.start - first is its place in `bars`
};

/// What became of the last bars of a symbol; carry.h asks for more than the bases.
struct SymbolBars {
  std::string symbol;
  std::vector<DayBar> bars;        ///< adjusted, up to the as-of day
  std::vector<PriceEvent> events;  ///< of the input and of its own file, the ones the bars were adjusted for
};

struct Prepared {
  Date as_of;                           ///< the newest last bar of all
  std::vector<Candidate> candidates;    ///< best score first, then by symbol
  int files = 0, stocks = 0, bars = 0;  ///< read
  int unreadable = 0, stale = 0, too_short = 0, rows_skipped = 0, rows_mended = 0;
  int bases = 0;                      ///< found before choosing
  std::vector<std::string> problems;  ///< at most 20 of the first ones, a line each
  std::vector<SymbolBars> kept;       ///< of the symbols in keep_symbols
};

/// `keep_symbols`: symbols whose bars the caller wants back (sorted). An error only when nothing could be read at all.
[[nodiscard]] Result<Prepared> prepare(const PrepareInput& input, const std::vector<std::string>& keep_symbols = {});

/// All bases of one series judged, best first; what prepare() does for one stock. `index` may be empty.
[[nodiscard]] std::vector<Candidate> judge_bases(const std::string& symbol, std::span<const DayBar> bars,
                                                 std::span<const DayBar> index, const RuleBook& book);

/// Leaves the few that go on the list: score and core rules, each pivot once, at most per_symbol. `found` is best first.
void choose(std::vector<Candidate>& found, const RuleBook& book);

}  // namespace brimwatch
