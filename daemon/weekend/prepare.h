#pragma once
// From daily bars to candidates: reads the files on two threads, adjusts, finds, measures, judges, and picks one
// base of each symbol. Reads files, writes none.
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/bar_checks.h"
#include "core/daily.h"
#include "core/result.h"
#include "weekend/candidate.h"
#include "weekend/events.h"
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
  std::optional<Date> last_over;  ///< later bars are told and left out: one of them would make all others look stale
  std::optional<NamedPoints> named;
  std::string symbol;             ///< only this one is looked at; empty: all
  std::set<std::string> symbols;  ///< only these of files that hold many; empty: all
  std::vector<Date> sessions;     ///< days on which the exchange traded, ascending; empty: not known
  std::vector<Date> half_days;    ///< those of them that closed early
  PriceEvents events;
  ReportDates reports;
  RuleBook book;
  BarChecks checks;        ///< what is done with doubtful rows
  bool keep_bars = false;  ///< candidates carry the bars of their picture
  bool all = false;        ///< every shape, whatever it breaks, and the plain highs
  int threads = 2;
  std::function<void(std::size_t done, std::size_t files)> on_progress;  ///< now and then, on the caller's thread
};

/// What became of the last bars of a symbol; carry.h asks for more than the bases.
struct SymbolBars {
  std::string symbol;
  std::vector<DailyBar> bars;      ///< adjusted, up to the as-of day
  std::vector<PriceEvent> events;  ///< of the input and of its own file, the ones the bars were adjusted for
};

/// A symbol that is not on the list, and why.
struct NotListed {
  std::string symbol, reason;
  Date last;  ///< its last bar; unset where there is none
};

struct Prepared {
  Date as_of;                           ///< the newest last bar of all
  std::vector<Candidate> candidates;    ///< in the order of choose.h: sound data first, then the nearest
  OddsBook odds;                        ///< what their outlook stands on
  int near = 0;                         ///< of the candidates, the first so many
  std::vector<NotListed> not_listed;    ///< by symbol: each file that gave nothing
  int files = 0, stocks = 0, bars = 0;  ///< read
  int unreadable = 0, stale = 0, too_short = 0, rows_skipped = 0, rows_mended = 0;
  int bases = 0;                      ///< found before choosing, plain highs left out
  std::vector<std::string> problems;  ///< at most 20 of the first ones, a line each
  std::vector<SymbolBars> kept;       ///< of the symbols in keep_symbols
};

/// `keep_symbols`: symbols whose bars the caller wants back (sorted). An error only when nothing could be read at all.
[[nodiscard]] Result<Prepared> prepare(const PrepareInput& input, const std::vector<std::string>& keep_symbols = {});

/// All bases of one series judged, in the order of fits_better(); what prepare() does for one stock. `market` may
/// be empty.
[[nodiscard]] std::vector<Candidate> judge_bases(const std::string& symbol, std::span<const DailyBar> bars,
                                                 const MarketView& market, const RuleBook& book);

}  // namespace brimwatch
