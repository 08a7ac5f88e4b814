#pragma once
// What the configuration says of past days: where they lie, where they come from, and what is done with doubtful ones.
#include <chrono>
#include <map>
#include <string>

#include "config/secret_source.h"
#include "core/bar_checks.h"

namespace brimwatch {

/// How the source names what we need of a row: names of CSV columns, or JSON Pointers (RFC 6901) from the row on. What is
/// empty is known by its common names.
struct SourceFields {
  std::string date, open, high, low, close, volume, symbol, split, dividend;
  std::string rows;  ///< JSON: pointer to the list of rows, or to the object that holds one list a field
  std::string next;  ///< JSON: pointer to the address of the next page

  bool operator==(const SourceFields&) const = default;
};

/// An address over HTTP that gives daily bars, splits or report dates.
struct HistorySource {
  /// May hold {symbol}, {from}, {to} (days such as 2026-11-25), {page} (1, 2 ...) and {secret}. Without {symbol} one
  /// answer holds all symbols. Empty: there is no source.
  std::string url;
  std::map<std::string, std::string> headers;  ///< values may hold {secret}
  SecretSource secret;
  std::string format = "csv";  ///< csv | json
  SourceFields fields;
  std::string symbol_form = "{symbol}";             ///< how the source writes a symbol
  std::map<std::string, std::string> symbol_names;  ///< our symbol -> the source's, where the form does not tell
  std::string adjusted = "no";                      ///< no | splits | dividends: what the source takes out of past prices
  int per_minute = 60;                              ///< requests
  int days = 800;                                   ///< calendar days asked of a symbol that has none yet
  int again = 10;                                   ///< calendar days asked anew, to see what has been restated
  std::chrono::seconds timeout{30};                 ///< of one request
  std::string proxy, ca_file;
  bool insecure_loopback = false;

  [[nodiscard]] bool is_set() const { return !url.empty(); }
  bool operator==(const HistorySource&) const = default;
};

struct HistorySettings {
  std::string daily;     ///< folder with SYMBOL.csv, or one file for all symbols; empty when none
  std::string learned;   ///< file with learned curves; empty: the place XDG gives
  std::string splits;    ///< optional corporate events: date,symbol,ratio
  std::string earnings;  ///< optional report dates: date,symbol
  HistorySource source, splits_source, earnings_source;
  int fetch_after = 30;      ///< minutes after the close
  std::string index_symbol;  ///< the symbol by which the source gives [market] index; empty: the file's name
  std::string heard;         ///< folder of the days that the feed carried whole: the place XDG gives
  bool keep_days = true;     ///< a day that the feed carried whole becomes a row, in `heard`
  BarChecks checks;

  bool operator==(const HistorySettings&) const = default;
};

}  // namespace brimwatch
