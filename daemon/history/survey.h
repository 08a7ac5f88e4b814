#pragma once
// Every file of daily bars looked at: what was chosen in reading it, what is doubtful in it, and which files hold another
// symbol's bars. Reads files, on two threads; writes none.
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "bars/faults.h"
#include "core/result.h"
#include "weekend/events.h"

namespace brimwatch {

struct SurveyInput {
  std::string daily;              ///< folder, or one file for all
  std::set<std::string> symbols;  ///< empty: all
  BarChecks checks;
  std::vector<Date> sessions;        ///< ascending; empty: not known
  std::optional<Date> last_session;  ///< the newest that is over
  PriceEvents events;                ///< splits that were told
  int threads = 2;
  std::function<void(std::size_t done, std::size_t files)> on_progress;  ///< now and then, on the caller's thread
};

struct SurveyRow {
  std::string symbol, file;
  int rows = 0, own = 0;  ///< own: days that the daemon heard
  Date first, last;
  std::vector<BarFinding> findings;
  std::string problem;  ///< it could not be read, or rows of it; empty: all could
};

struct Survey {
  std::vector<SurveyRow> rows;         ///< by symbol
  std::map<std::string, int> choices;  ///< what was chosen in reading, and in how many files
  std::size_t files = 0, bars = 0;
  int doubtful = 0, unreadable = 0;  ///< files
  std::string passed_over;           ///< files with other endings, in one line; empty: none
};

[[nodiscard]] Result<Survey> survey(const SurveyInput& input);

}  // namespace brimwatch
