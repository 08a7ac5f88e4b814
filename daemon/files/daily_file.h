#pragma once
// Where daily bars lie and how they are read: a folder with SYMBOL.csv (also .csv.gz, .csv.zst, .zip, and these in
// capitals), or one file for all symbols. The one reader of such files for all who need them.
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bars/daily_text.h"

namespace brimwatch {

/// One symbol's file. The symbol is the file's name without its endings; of a file for many symbols its rows of `symbol`
/// are taken, where that is given. Bars after `last_over`, the last session that is over, are left out (of a day that
/// goes on they are a part, and days to come were never traded), counted as skipped, and the first is the first problem.
/// Errors name the file and, where there is one, line and column.
[[nodiscard]] Result<DailySeries> read_daily(const std::string& path, DailyRows rows, std::optional<Date> last_over = {},
                                             const std::string& symbol = {});

/// All that one file holds: one series, or one a symbol, or one a member of a zip.
[[nodiscard]] Result<std::vector<DailySeries>> read_all_daily(const std::string& path, DailyRows rows,
                                                              std::optional<Date> last_over = {});

/// "KLVN" of DIR/KLVN.csv.gz.
[[nodiscard]] std::string symbol_of_file(const std::string& path);

/// The files of daily bars in a folder, or the file itself, sorted. Of KLVN.csv and KLVN.csv.gz the first. An error where
/// it cannot be looked into.
[[nodiscard]] Result<std::vector<std::string>> daily_files(const std::string& place);

/// One line of the files in a folder that daily_files() leaves aside for their endings, with counts; empty where there
/// are none. Hidden files and what we kept of a user's own (.csv.old) do not count.
[[nodiscard]] std::string passed_over(const std::string& place);

/// `[history] daily`, by symbol.
class DailyStore {
 public:
  /// A folder, or a file; empty: nothing is there. Nothing is read yet.
  explicit DailyStore(std::string place) : place_(std::move(place)) {}

  [[nodiscard]] bool is_set() const { return !place_.empty(); }
  /// Whether it can be looked into.
  [[nodiscard]] Status look() const;
  /// Where the symbol's bars lie; empty: nowhere. A name that would leave the folder lies nowhere. klvn.csv is KLVN's
  /// too, where there is no KLVN.csv.
  [[nodiscard]] std::string file_of(const std::string& symbol) const;
  /// Where they would be written: DIR/SYMBOL.csv; empty where `daily` is one file for all, which is only read.
  [[nodiscard]] std::string file_to_write(const std::string& symbol) const;
  [[nodiscard]] bool is_one_file() const;
  /// One file for all symbols is read once and kept.
  [[nodiscard]] Result<DailySeries> read(const std::string& symbol, DailyRows rows);

 private:
  struct All {
    Result<std::vector<DailySeries>> series;
  };
  std::string place_;
  std::map<DailyRows, std::shared_ptr<All>> all_;
};

}  // namespace brimwatch
