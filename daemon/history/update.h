#pragma once
// One update of the daily bars: which days are wanted of which symbol, and what becomes of each answer. Files are read
// and written; asking is somebody else's (adapters/sources). Safe to be called from a thread of its own.
#include <optional>
#include <string>
#include <vector>

#include "config/settings.h"
#include "core/result.h"
#include "history/keep.h"

namespace brimwatch {

/// What is wanted of a symbol.
struct DaysWanted {
  std::string symbol;
  Date from, to;
  bool whole = false;  ///< a restated past, from its first day on
};

/// What became of one symbol.
struct SymbolUpdate {
  std::string symbol;
  std::string error;                 ///< empty: it went well
  std::string words;                 ///< what has changed; empty: nothing
  std::vector<std::string> remarks;  ///< choices in reading the answer, rows left out, the old file's place
  std::optional<DaysWanted> again;   ///< has to be asked from further back
  double split = 1;                  ///< new shares for one old one: the past was restated so, or the source tells of it
  Date split_day;                    ///< of what the source tells; unset: not known
  int rows = 0;                      ///< in the file now
  Date last;                         ///< its last day
};

/// The symbol under which the source gives [market] index, and the file it goes to; empty: no index, or it is not wanted.
[[nodiscard]] std::string index_symbol_of(const Settings& settings);

/// Clears what an update that was killed left half written beside the files of days, splits and report dates; what
/// another process is writing stays. Says how many.
std::size_t clear_unfinished(const Settings& settings);
/// The same of a folder of days.
std::size_t clear_unfinished_days(const std::string& folder);

/// Each symbol of the watches once, and the index.
[[nodiscard]] std::vector<std::string> symbols_to_update(const Settings& settings);

/// What to ask for; nothing where the file holds all up to `last_session` already and `again` asks for none of it.
/// `only_missing`: what was restated does not matter now.
[[nodiscard]] std::optional<DaysWanted> days_wanted(const Settings& settings, const std::string& symbol,
                                                    Date last_session, bool only_missing);

/// The pages of an answer put into the symbol's file. Days after `last_session` are left out: they are not over.
[[nodiscard]] SymbolUpdate take_days(const Settings& settings, const DaysWanted& wanted,
                                     const std::vector<std::string>& pages, Date last_session);

/// The same of an answer that holds every symbol; of those, the ones in `symbols`.
[[nodiscard]] std::vector<SymbolUpdate> take_all_days(const Settings& settings, const std::vector<std::string>& symbols,
                                                      const std::vector<std::string>& pages, Date last_session);

/// A day that the feed carried whole, as a row of our own.
[[nodiscard]] SymbolUpdate take_own_day(const HistorySettings& history, const std::string& symbol, const DailyBar& bar);

}  // namespace brimwatch
