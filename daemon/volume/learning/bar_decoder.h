#pragma once
// Bar files as text: columns found by name, times in many spellings, one row at a time. Pure; fed in pieces of any size.
//
// Columns: the time as `datetime` (or timestamp, time with a date in it), or `date` and `bin_start` (or time, start,
// bin); `volume`; where there, `open`, `close`, `symbol`. Comma, semicolon or tab. Days may be labels instead of dates.
// Fields may stand in quotes, and then have commas between thousands; a row with more fields than the header is skipped.
// Without a header the columns are guessed from their number: time o h l c v; date time o h l c v; date time v.
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "core/price.h"
#include "core/result.h"
#include "core/text/csv_line.h"
#include "session/calendar.h"
#include "session/zone.h"
#include "volume/learning/bars.h"

namespace brimwatch {

struct BarFileOptions {
  bool utc = false;                         ///< times without an offset are UTC, not the exchange's
  std::shared_ptr<const LocalTime> zone{};  ///< ... or of this zone
  std::vector<std::string> columns;         ///< names for a file without a header; empty: guessed
  bool prices = false;  ///< exact prices are wanted too (SymbolRows::prices); rows without a close are refused
};

/// Exact prices of one row; open, high and low are 0 where the file has none.
struct BarPrices {
  Price open, high, low, close;
};

/// Rows of one symbol, in the order of the file.
struct SymbolRows {
  std::string symbol;
  std::vector<BarRow> rows;
  std::vector<BarPrices> prices;  ///< as many as rows, or none
};

class BarDecoder {
 public:
  /// `symbol`: whose the rows are where the file has no such column; `name`: of the file, for messages.
  BarDecoder(std::string name, std::string symbol, const BarFileOptions& options, const Calendar& calendar);

  /// Errors: a header that cannot be used. Rows that cannot be read are counted, the first few told, and skipped.
  Status feed(std::string_view text);
  /// The last line, where it does not end in a line end.
  Status finish();

  [[nodiscard]] std::vector<SymbolRows>& symbols() { return symbols_; }
  [[nodiscard]] std::uint64_t rows() const { return rows_; }
  [[nodiscard]] std::uint64_t malformed() const { return malformed_; }
  [[nodiscard]] const std::vector<std::string>& told() const { return told_; }

 private:
  struct Columns {
    int date = -1, time = -1, stamp = -1, volume = -1, open = -1, high = -1, low = -1, close = -1, symbol = -1;
    [[nodiscard]] int last() const;
  };

  /// What a row's time is counted in; neither: the exchange's zone.
  struct Clock {
    bool utc = false;
    std::shared_ptr<const LocalTime> zone;
  };

  Status line(std::string_view text);
  Status header(std::string_view text);
  bool assign(const std::vector<std::string>& names);
  bool cut(std::string_view text);
  bool row(std::string_view text);
  float rough_price(int column);
  void tell_price(int column);
  bool set_prices(BarPrices& prices);
  bool set_time(BarRow& row);
  [[nodiscard]] int whole_stamp() const;
  bool set_stamp(int column, BarRow& row, Clock& clock);
  bool find_zone(std::string_view name, Clock& clock);
  void to_exchange(Timestamp time, BarRow& row) const;
  bool set_date(std::string_view text, BarRow& row);
  [[nodiscard]] std::string place(std::size_t field) const;
  void tell(std::size_t field, const std::string& what);
  void complain(int column, const char* what);
  SymbolRows& rows_of(std::string_view symbol);
  [[nodiscard]] std::string_view field(int column) const { return fields_[static_cast<std::size_t>(column)]; }

  std::string name_, symbol_;
  BarFileOptions options_;
  const Calendar& calendar_;
  char delimiter_ = ',';
  Columns columns_;
  bool started_ = false;
  std::string carry_;
  CsvLine fields_;
  std::size_t width_ = 0;  ///< fields of the header
  std::vector<SymbolRows> symbols_;
  std::unordered_map<std::string, std::size_t> index_;
  std::size_t last_symbol_ = 0;
  std::unordered_map<std::string, std::int32_t> labels_;
  std::unordered_map<std::string, std::shared_ptr<const LocalTime>> zones_;  ///< that rows have named
  std::string last_date_;
  std::int32_t last_day_ = 0;
  std::uint64_t line_number_ = 0, rows_ = 0, malformed_ = 0;
  std::size_t skips_told_ = 0;
  bool price_told_ = false;
  std::vector<std::string> told_;
};

/// Whether a file that starts so says in each row whose it is.
[[nodiscard]] bool has_symbol_column(std::string_view start);

/// "KLVN.csv", "KLVN_2026-11.csv.gz" -> KLVN; "panel_1.csv" -> panel_1.
[[nodiscard]] std::string symbol_of_file(std::string_view path);

}  // namespace brimwatch
