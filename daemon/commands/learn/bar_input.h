#pragma once
// Bar files and tapes into sessions, symbol by symbol: what `learn` works on. Errors are one line for a person.
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "core/result.h"
#include "session/calendar.h"
#include "volume/learning/bar_decoder.h"
#include "volume/learning/bars.h"

namespace brimwatch {

struct BarInput {
  std::vector<std::string> paths;  ///< files, or directories: of those every *.csv* and *.tsv*
  std::string symbol;              ///< whose all rows are; empty: from a column or the file's name
  BarFileOptions file;
  BarReading reading;
};

/// Files by the symbol that their names give, in the order of the symbols; those with a symbol column under "".
[[nodiscard]] std::map<std::string, std::vector<std::string>> group_files(const BarInput& input);

/// Reads one group: bar files, or tapes (told by their header). `tell` gets lines about rows that were skipped.
[[nodiscard]] Result<std::vector<BarSeries>> read_series(const std::string& symbol, const std::vector<std::string>& paths,
                                                         const BarInput& input, const Calendar& calendar,
                                                         const std::function<void(const std::string&)>& tell);

}  // namespace brimwatch
