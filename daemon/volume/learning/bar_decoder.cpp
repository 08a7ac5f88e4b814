#include "volume/learning/bar_decoder.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <initializer_list>
#include <limits>
#include <optional>

#include "core/daily.h"
#include "core/text/grouped_number.h"
#include "volume/learning/bar_time.h"

namespace brimwatch {
namespace {

constexpr std::size_t kMostTold = 5;
constexpr std::size_t kMostLine = 64 * 1024;
constexpr const char* kStamp =
    "a date and a time of day such as 2026-11-25 09:30 (a zone after it as Z, -05:00 or America/New_York)";
constexpr const char* kClock = "a time of day such as 09:30 (without a zone; a column datetime may have one)";
constexpr double kMostVolume = 9e12;  // shares of a bar; what Shares can hold

/// A column's name without what people spell differently: case, blanks, underscores, quotes.
std::string plain(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (std::isalnum(static_cast<unsigned char>(c)) != 0)
      out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  return out;
}

/// The first of `wanted`, in their order, that is among the names.
int find_any(const std::vector<std::string>& names, std::initializer_list<const char*> wanted) {
  for (const char* want : wanted) {
    const auto at = std::find(names.begin(), names.end(), want);
    if (at != names.end()) return static_cast<int>(at - names.begin());
  }
  return -1;
}

int find_symbol(const std::vector<std::string>& names) { return find_any(names, {"symbol", "ticker", "sym", "stock"}); }

bool is_missing(std::string_view text) {
  return text.empty() || text == "NA" || text == "nan" || text == "NaN" || text == "null" || text == "-";
}

bool parse_number(std::string_view text, double& value) {
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  return problem == std::errc() && end == text.data() + text.size() && std::isfinite(value);
}

/// Where columns are parted by semicolons, it is because the comma is the decimal mark: a comma is not read at all there,
/// and a point before three digits, as in 1.234, may part thousands.
bool read_volume(std::string_view text, char delimiter, double& value) {
  const bool three_decimals = text.size() > 4 && text.size() < 8 && text[text.size() - 4] == '.' && text[0] != '0';
  if (delimiter == ';' && three_decimals) return false;
  if (parse_number(text, value)) return true;
  const auto plain = delimiter == ';' ? std::nullopt : ungrouped_count(text);
  return plain && parse_number(*plain, value);
}

/// A price without the commas that part its thousands, where nothing else can be meant.
std::optional<std::string> plain_price(std::string_view text, char delimiter) {
  return delimiter == ';' ? std::nullopt : ungrouped_price(text);
}

std::optional<Price> read_price(std::string_view text, char delimiter) {
  if (const auto price = parse_price(text, Extra::drop)) return price;
  const auto plain = plain_price(text, delimiter);
  return plain ? parse_price(*plain, Extra::drop) : std::nullopt;
}

std::vector<std::string> guessed_names(std::size_t count) {
  switch (count) {
    case 3:
      return {"date", "time", "volume"};
    case 6:
      return {"datetime", "open", "high", "low", "close", "volume"};
    case 7:
      return {"date", "time", "open", "high", "low", "close", "volume"};
    default:
      return {};
  }
}

/// 2026, 2026-11, 202611, 20261125 and so on: the part of a file's name that tells its days. "_1", "_02" are no dates:
/// they may tell one symbol from another.
bool begins_with_date(std::string_view text) {
  const std::size_t digits = std::min(text.find_first_not_of("0123456789"), text.size());
  const bool century = text.substr(0, 2) == "19" || text.substr(0, 2) == "20";
  return century && (digits == 4 || digits == 6 || digits == 8);
}

}  // namespace

int BarDecoder::Columns::last() const { return std::max({date, time, stamp, volume, open, high, low, close, symbol}); }

BarDecoder::BarDecoder(std::string name, std::string symbol, const BarFileOptions& options, const Calendar& calendar)
    : name_(std::move(name)), symbol_(std::move(symbol)), options_(options), calendar_(calendar) {}

Status BarDecoder::feed(std::string_view text) {
  for (;;) {
    const std::size_t end = text.find('\n');
    if (end == std::string_view::npos) break;
    Status status;
    if (carry_.empty()) {
      status = line(text.substr(0, end));
    } else {
      carry_ += text.substr(0, end);
      status = line(carry_);
      carry_.clear();
    }
    if (!status) return status;
    text.remove_prefix(end + 1);
  }
  carry_ += text;
  if (carry_.size() > kMostLine)
    return fail(name_ + ":" + std::to_string(line_number_ + 1) +
                ":1: found a line longer than 64 KiB, expected rows of bars");
  return {};
}

Status BarDecoder::finish() {
  Status status = carry_.empty() ? Status() : line(carry_);
  carry_.clear();
  if (status && !started_) return fail(name_ + ": found nothing, expected rows of bars");
  return status;
}

Status BarDecoder::line(std::string_view text) {
  ++line_number_;
  if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
  if (!started_ && text.substr(0, 3) == "\xef\xbb\xbf") text.remove_prefix(3);
  if (text.empty() || (!started_ && text[0] == '#')) return {};
  if (!started_) {
    started_ = true;
    const bool bare = text[0] >= '0' && text[0] <= '9';
    if (Status status = header(text); !status || !bare) return status;
  }
  ++rows_;
  if (!row(text)) ++malformed_;
  return {};
}

Status BarDecoder::header(std::string_view text) {
  delimiter_ = delimiter_of(text);
  if (!fields_.split(text, delimiter_)) {
    return fail(name_ + ":1:" + std::to_string(fields_.column(fields_.size())) +
                ": header: " + std::string(fields_.problem()) + "; the file was not read");
  }
  width_ = fields_.width();
  std::vector<std::string> names;
  if (text[0] >= '0' && text[0] <= '9') {
    for (const std::string& name : options_.columns) names.push_back(plain(name));
    if (names.empty()) names = guessed_names(fields_.size());
    width_ = names.size();
  } else {
    for (const std::string_view field : fields_) names.push_back(plain(field));
  }
  if (assign(names) && (!options_.prices || columns_.close >= 0)) return {};
  if (options_.prices && columns_.close < 0) {
    return fail(name_ + ":1:1: header: found \"" + std::string(text.substr(0, 80)) +
                "\", expected a column close (and open, high, low) beside time and volume; the file was not read");
  }
  return fail(
      name_ + ":1:1: header: found \"" + std::string(text.substr(0, 80)) +
      "\", expected columns for the time (date and bin_start, or datetime, or time) and volume; the file was not read");
}

bool BarDecoder::assign(const std::vector<std::string>& names) {
  columns_.volume = find_any(names, {"volume", "vol", "v", "shares"});
  columns_.open = find_any(names, {"open", "o"});
  columns_.high = find_any(names, {"high", "h"});
  columns_.low = find_any(names, {"low", "l"});
  columns_.close = find_any(names, {"close", "c", "last"});
  columns_.symbol = find_symbol(names);
  columns_.stamp = find_any(names, {"datetime", "timestamp", "ts", "barstart"});
  columns_.date = find_any(names, {"date", "day", "tradedate"});
  columns_.time = find_any(names, {"binstart", "time", "timeofday", "starttime", "start", "bin", "minute", "bartime"});
  if (columns_.stamp >= 0) columns_.date = columns_.time = -1;
  else if (columns_.date < 0 || columns_.time < 0)
    std::swap(columns_.stamp, columns_.date < 0 ? columns_.time : columns_.date);
  return columns_.volume >= 0 && (columns_.stamp >= 0 || (columns_.date >= 0 && columns_.time >= 0));
}

/// Cuts a row into fields_; false, and told, when they cannot be laid to the columns.
bool BarDecoder::cut(std::string_view text) {
  constexpr const char* kSkipped = "; the row was skipped";
  if (!fields_.split(text, delimiter_)) return tell(fields_.size(), std::string(fields_.problem()) + kSkipped), false;
  if (static_cast<int>(fields_.size()) <= columns_.last())
    return complain(columns_.volume, "as many fields as the header has"), false;
  if (fields_.width() <= width_) return true;
  tell(width_, "found " + std::to_string(fields_.size()) + " fields, expected no more than the " +
                   std::to_string(width_) + " of the header (a separator within a field needs quotes around it)" +
                   kSkipped);
  return false;
}

bool BarDecoder::row(std::string_view text) {
  if (!cut(text)) return false;
  BarRow out;
  if (!set_time(out)) return false;
  const std::string_view volume = field(columns_.volume);
  if (is_missing(volume)) out.volume = std::numeric_limits<double>::quiet_NaN();
  else if (!read_volume(volume, delimiter_, out.volume) || out.volume < 0 || out.volume > kMostVolume)
    return complain(columns_.volume, "a volume from 0 to 9e12"), false;
  BarPrices prices;
  if (options_.prices && !set_prices(prices)) return false;
  out.open = rough_price(columns_.open);
  out.close = rough_price(columns_.close);
  out.high = rough_price(columns_.high);
  if (columns_.symbol >= 0 && field(columns_.symbol).empty()) return complain(columns_.symbol, "a symbol"), false;
  SymbolRows& into = rows_of(columns_.symbol >= 0 ? field(columns_.symbol) : symbol_);
  into.rows.push_back(out);
  if (options_.prices) into.prices.push_back(prices);
  return true;
}

/// 0 where there is none. One that cannot be read does not cost the volume: the first is told.
float BarDecoder::rough_price(int column) {
  if (column < 0) return 0;
  const std::string_view text = field(column);
  double value = 0;
  bool read = parse_number(text, value);
  if (!read && !is_missing(text)) {
    const auto plain = plain_price(text, delimiter_);
    read = plain && parse_number(*plain, value);
    if (!read) tell_price(column);
  }
  return read && value > 0 ? static_cast<float>(value) : 0;
}

void BarDecoder::tell_price(int column) {
  if (price_told_) return;
  price_told_ = true;
  told_.push_back(place(static_cast<std::size_t>(column)) + "found \"" + std::string(field(column).substr(0, 40)) +
                  "\", expected a price such as 48.35; prices that cannot be read count as not known");
}

/// The high is made to hold open and close, and so is the low: files round the four apart.
bool BarDecoder::set_prices(BarPrices& prices) {
  for (const auto& [column, price] : {std::pair{columns_.open, &prices.open}, std::pair{columns_.high, &prices.high},
                                      std::pair{columns_.low, &prices.low}, std::pair{columns_.close, &prices.close}}) {
    if (column < 0) continue;
    const auto read = read_price(field(column), delimiter_);
    if (!read || read->micros <= 0) return complain(column, "a price above 0 such as 48.35"), false;
    *price = without_float_noise(*read);
  }
  const Price open = prices.open.is_set() ? prices.open : prices.close;
  prices.high = std::max({prices.high, open, prices.close});
  prices.low = prices.low.is_set() ? std::min({prices.low, open, prices.close}) : std::min(open, prices.close);
  return true;
}

bool BarDecoder::set_time(BarRow& row) {
  Clock in{options_.utc, options_.zone};
  const auto clock = columns_.stamp >= 0 ? std::nullopt : parse_clock(field(columns_.time));
  if (const int stamp = columns_.stamp >= 0 || clock ? columns_.stamp : whole_stamp(); stamp >= 0) {
    if (!set_stamp(stamp, row, in)) return false;
  } else {
    if (!clock) return complain(columns_.time, kClock), false;
    row.minute = *clock;
    if (!set_date(field(columns_.date), row)) return complain(columns_.date, "a date such as 2026-11-25"), false;
  }
  if (row.day >= kLabelDay) return true;
  const Nanos as_written = row.day * kDayNanos + row.minute * kMinute;
  if (in.utc) to_exchange(Timestamp{as_written}, row);
  else if (in.zone != nullptr) to_exchange(in.zone->to_utc(as_written), row);
  return true;
}

void BarDecoder::to_exchange(Timestamp time, BarRow& row) const {
  const auto local = time.ns / kMinute + calendar_.offset(time).count() / 60;
  row.day = static_cast<std::int32_t>(local / 1440);
  row.minute = static_cast<std::int32_t>(local % 1440);
}

/// Some files have the date in the column of the time, or the time in that of the date, although there are both.
int BarDecoder::whole_stamp() const {
  for (const int column : {columns_.time, columns_.date}) {
    if (parse_stamp(field(column))) return column;
  }
  return -1;
}

bool BarDecoder::set_stamp(int column, BarRow& row, Clock& clock) {
  const auto stamp = parse_stamp(field(column));
  if (!stamp) return complain(column, kStamp), false;
  row.day = stamp->day.days;
  row.minute = stamp->minute;
  if (stamp->absolute) clock = {true, nullptr};
  if (stamp->zone.empty() || find_zone(stamp->zone, clock)) return true;
  return complain(column, "a zone that is known, such as America/New_York"), false;
}

/// Each zone is looked up once, also one that there is not.
bool BarDecoder::find_zone(std::string_view name, Clock& clock) {
  constexpr std::size_t kMostZones = 64;
  auto known = zones_.find(std::string(name));
  if (known == zones_.end()) {
    if (zones_.size() >= kMostZones) return false;
    auto zone = LocalTime::of(std::string(name));
    known = zones_.emplace(std::string(name), zone ? *zone : nullptr).first;
  }
  clock = {false, known->second};
  return known->second != nullptr;
}

bool BarDecoder::set_date(std::string_view text, BarRow& row) {
  if (text.empty()) return false;
  if (text != last_date_) {
    const auto date = parse_any_date(text);
    if (!date && text[0] >= '0' && text[0] <= '9' && text.find_first_of("-/.") != std::string_view::npos) return false;
    last_day_ =
        date
            ? date->days
            : labels_.try_emplace(std::string(text), kLabelDay + static_cast<std::int32_t>(labels_.size())).first->second;
    last_date_ = text;
  }
  row.day = last_day_;
  return true;
}

std::string BarDecoder::place(std::size_t field) const {
  return name_ + ":" + std::to_string(line_number_) + ":" + std::to_string(fields_.column(field)) + ": ";
}

void BarDecoder::tell(std::size_t field, const std::string& what) {
  if (skips_told_ >= kMostTold) return;
  ++skips_told_;
  told_.push_back(place(field) + what);
}

void BarDecoder::complain(int column, const char* what) {
  if (skips_told_ >= kMostTold) return;
  const std::string_view found = fields_.at(std::max(column, 0)).substr(0, 40);
  const bool number = column == columns_.volume || column == columns_.open || column == columns_.high ||
                      column == columns_.low || column == columns_.close;
  tell(static_cast<std::size_t>(std::max(column, 0)), "found \"" + std::string(found) + "\", expected " + what +
                                                          std::string(number ? comma_hint(found) : "") +
                                                          "; the row was skipped");
}

SymbolRows& BarDecoder::rows_of(std::string_view symbol) {
  if (last_symbol_ < symbols_.size() && symbols_[last_symbol_].symbol == symbol) return symbols_[last_symbol_];
  const auto [at, fresh] = index_.try_emplace(std::string(symbol), symbols_.size());
  if (fresh) symbols_.push_back({std::string(symbol), {}, {}});
  last_symbol_ = at->second;
  return symbols_[last_symbol_];
}

bool has_symbol_column(std::string_view start) {
  const std::string_view line = start.substr(0, start.find('\n'));
  CsvLine fields;
  fields.split(line, delimiter_of(line));
  std::vector<std::string> names;
  for (const std::string_view field : fields) names.push_back(plain(field));
  return find_symbol(names) >= 0;
}

std::string symbol_of_file(std::string_view path) {
  std::string_view name = path.substr(path.find_last_of('/') + 1);
  for (const std::string_view ending : {".gz", ".zst", ".csv", ".txt", ".tsv", ".tape"}) {
    if (name.size() > ending.size() && name.ends_with(ending)) name.remove_suffix(ending.size());
  }
  for (std::size_t at = 1; at < name.size(); ++at) {
    if ((name[at] == '_' || name[at] == '-' || name[at] == '.') && begins_with_date(name.substr(at + 1)))
      return std::string(name.substr(0, at));
  }
  return std::string(name);
}

}  // namespace brimwatch
