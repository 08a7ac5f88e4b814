#include "bars/daily_text.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <map>
#include <optional>
#include <utility>

#include "bars/daily_fields.h"
#include "bars/daily_header.h"
#include "core/text/csv_line.h"
#include "core/text/grouped_number.h"

namespace brimwatch {
namespace {

constexpr std::array<const char*, kDailyColumns> kExpected = {"a day such as 2026-11-25",
                                                              "a price above zero such as 48.35",
                                                              "a price above zero such as 48.35",
                                                              "a price above zero such as 48.35",
                                                              "a price above zero such as 48.35",
                                                              "a number of shares such as 1234567",
                                                              "new shares for one old share such as 2 or 0.1",
                                                              "a symbol such as KLVN",
                                                              "feed or source"};

bool is_blank(std::string_view line) { return line.find_first_not_of(" \t\r") == std::string_view::npos; }

/// Cuts one line off the front of `rest`.
std::string_view take_line(std::string_view& rest) {
  const void* end = std::memchr(rest.data(), '\n', rest.size());
  const std::size_t size = end ? static_cast<std::size_t>(static_cast<const char*>(end) - rest.data()) : rest.size();
  const std::string_view line = rest.substr(0, size);
  rest.remove_prefix(end ? size + 1 : size);
  return line;
}

std::string place_of(std::string_view name, int line, std::size_t column) {
  return std::string(name) + ":" + std::to_string(line) + ":" + std::to_string(column) + ": ";
}

/// Most rows have no split, in words of the file's own; "1,5" is one, which must not pass for none.
bool has_odd_split(std::string_view text) { return text.find(',') != std::string_view::npos; }

/// The column that could not be read, or kDailyColumns when the row is whole.
DailyColumn read_row(const CsvLine& fields, const DailyLayout& layout, DailyRows rows, DailyBar& bar) {
  const auto day = read_daily_date(fields.at(layout.at[kDate]), layout.order);
  if (!day) return kDate;
  bar.day = *day;
  const std::array<std::pair<DailyColumn, Price*>, 4> wanted = {
      {{kOpen, &bar.open}, {kHigh, &bar.high}, {kLow, &bar.low}, {kClose, &bar.close}}};
  for (const auto& [column, price] : wanted) {
    if (layout.has(column) && !read_daily_price(fields.at(layout.at[column]), layout, rows, *price)) return column;
  }
  bar.volume = read_daily_volume(fields.at(layout.at[kVolume]), layout);
  if (bar.volume < 0) return kVolume;
  return has_odd_split(fields.at(layout.at[kSplit])) ? kSplit : kDailyColumns;
}

/// Real files round the four prices apart; the bar must hold its own open and close.
bool mend(DailyBar& bar) {
  if (!bar.open.is_set() || !bar.high.is_set() || !bar.low.is_set() || !bar.close.is_set()) return false;
  const Price high = std::max({bar.high, bar.open, bar.close, bar.low});
  const Price low = std::min({bar.low, bar.open, bar.close, bar.high});
  const bool changed = high != bar.high || low != bar.low;
  bar.high = high;
  bar.low = low;
  return changed;
}

/// A row whose fields cannot be told apart, or are more than the header names: what belongs where nobody knows.
std::string shape_problem(std::string_view name, int line, const CsvLine& fields, std::size_t width) {
  if (!fields.problem().empty()) {
    return place_of(name, line, fields.column(fields.size())) + std::string(fields.problem());
  }
  return place_of(name, line, fields.column(width)) + "found " + std::to_string(fields.size()) +
         " fields, expected no more than the " + std::to_string(width) +
         " of the header (a comma within a field needs quotes around it)";
}

std::string problem_text(std::string_view name, int line, DailyColumn column, const CsvLine& fields,
                         const DailyLayout& layout) {
  const int at = layout.at[column];
  const std::string found(fields.at(at).substr(0, 40));
  return place_of(name, line, fields.column(static_cast<std::size_t>(at))) + name_of(column) + ": found \"" + found +
         "\", expected " + kExpected[column] + std::string(column == kDate ? "" : comma_hint(found));
}

Status refuse_twice(const DailySeries& series, std::string_view name) {
  const auto twice = std::adjacent_find(series.bars.begin(), series.bars.end(),
                                        [](const DailyBar& a, const DailyBar& b) { return a.day == b.day; });
  if (twice == series.bars.end()) return {};
  return fail(std::string(name) + ": the day " + to_string(twice->day) +
              " appears twice, expected one row a day; the file was not used");
}

void sort_by_day(std::vector<DailyBar>& bars) {
  const auto earlier = [](const DailyBar& a, const DailyBar& b) { return a.day < b.day; };
  if (bars.size() > 1 && bars.front().day > bars.back().day) std::reverse(bars.begin(), bars.end());
  if (!std::is_sorted(bars.begin(), bars.end(), earlier)) std::stable_sort(bars.begin(), bars.end(), earlier);
}

/// Of several rows for one day one stays, the others count as skipped. Which of two that differ is right only a person
/// can find out.
void keep_each_day_once(DailySeries& series, std::string_view name) {
  auto& bars = series.bars;
  std::size_t kept = 0;
  for (std::size_t i = 0; i < bars.size(); ++i) {
    if (kept > 0 && bars[kept - 1].day == bars[i].day) {
      if (series.first_problem.empty())
        series.first_problem = std::string(name) + ": the day " + to_string(bars[i].day) + " appears twice, " +
                               (bars[kept - 1] == bars[i] ? "with the same figures" : "with different figures") +
                               ", expected one row a day; one of them was used";
      bars[kept - 1] = bars[i];
      ++series.skipped;
    } else {
      bars[kept++] = bars[i];
    }
  }
  bars.resize(kept);
}

std::string left_out_words(int rows) {
  if (rows == 1) return "; the row was left out";
  return "; the row and " + std::to_string(rows - 1) + " more were left out";
}

Status put_in_order(DailySeries& series, std::string_view name, DailyRows rows) {
  sort_by_day(series.bars);
  std::sort(series.splits.begin(), series.splits.end(), [](const SplitOn& a, const SplitOn& b) { return a.day < b.day; });
  std::sort(series.own.begin(), series.own.end());
  if (rows == DailyRows::every) return refuse_twice(series, name);
  keep_each_day_once(series, name);
  return {};
}

class DailyParser {
 public:
  DailyParser(std::string symbol, std::string_view name, DailyRows rows) : name_(name), rows_(rows) {
    none_.symbol = std::move(symbol);
  }

  Status run(std::string_view text) {
    const std::string_view header = take_line(text);
    auto layout = read_daily_header(header, text, name_, rows_);
    if (!layout) return tl::unexpected(layout.error());
    layout_ = std::move(*layout);
    if (!layout_.has(kSymbol)) none_.bars.reserve(text.size() / 48 + 1);
    for (int number = 2; !text.empty(); ++number) {
      const std::string_view line = take_line(text);
      if (is_blank(line)) continue;
      if (auto taken = take_row(line, number); !taken) return taken;
    }
    return {};
  }

  /// Whatever it holds, in order. A row that could not be told to be anybody's counts with the first.
  Result<std::vector<DailySeries>> finish() {
    std::vector<DailySeries> out;
    if (!none_.bars.empty() || by_symbol_.empty()) out.push_back(std::move(none_));
    for (auto& [symbol, series] : by_symbol_) out.push_back(std::move(series));
    for (DailySeries& series : out) {
      if (rows_ == DailyRows::every && series.skipped > 0) series.bars.clear();
      series.has_prices = layout_.has_all_prices();
      series.choices = layout_.choices;
      if (auto ordered = put_in_order(series, name_, rows_); !ordered) return tl::unexpected(ordered.error());
    }
    if (skipped_ > 0 && !out.front().bars.empty())
      out.front().skipped += skipped_, out.front().first_problem = first_problem_ + left_out_words(skipped_);
    return out;
  }

  [[nodiscard]] std::string nothing() const {
    if (skipped_ == 0) return std::string(name_) + ":2:1: no rows; the file was not used";
    return first_problem_ +
           (skipped_ == 1 ? "; it is the only row" : "; so are all " + std::to_string(skipped_) + " rows") +
           ", and the file was not used";
  }

 private:
  Status take_row(std::string_view line, int number) {
    const std::string problem = read(line, number);
    if (problem.empty()) return {};
    const std::string_view symbol = fields_.at(layout_.at[kSymbol]);
    if (rows_ == DailyRows::every && symbol.empty()) return fail(problem + "; the file was not used");
    if (rows_ == DailyRows::every) return refuse_symbol(symbol, problem), Status();
    if (skipped_++ == 0) first_problem_ = problem;
    return {};
  }

  /// Its row costs this symbol its history, and none of the others.
  void refuse_symbol(std::string_view symbol, const std::string& problem) {
    DailySeries& series = series_of(symbol);
    if (series.skipped++ == 0) series.first_problem = problem + "; the rows of " + series.symbol + " were not used";
  }

  /// What is wrong with the row; empty when it has been taken.
  std::string read(std::string_view line, int number) {
    if (!fields_.split(line, layout_.delimiter) || fields_.width() > layout_.width)
      return shape_problem(name_, number, fields_, layout_.width);
    DailyBar bar;
    const DailyColumn bad = read_row(fields_, layout_, rows_, bar);
    if (bad != kDailyColumns) return problem_text(name_, number, bad, fields_, layout_);
    DailySeries& series = series_of(fields_.at(layout_.at[kSymbol]));
    if (mend(bar)) ++series.mended;
    if (layout_.has(kSplit)) {
      if (const auto ratio = read_split(fields_.at(layout_.at[kSplit]))) series.splits.push_back({bar.day, *ratio});
    }
    if (layout_.has(kFrom) && fields_.at(layout_.at[kFrom]) == "feed") series.own.push_back(bar.day);
    series.bars.push_back(bar);
    return {};
  }

  DailySeries& series_of(std::string_view symbol) {
    if (symbol.empty()) return none_;
    if (last_ != nullptr && last_->symbol == symbol) return *last_;
    const auto [at, fresh] = by_symbol_.try_emplace(std::string(symbol));
    if (fresh) at->second.symbol = symbol;
    last_ = &at->second;
    return *last_;
  }

  std::string_view name_;
  DailyRows rows_;
  DailyLayout layout_;
  CsvLine fields_;
  DailySeries none_;  ///< of rows that name no symbol
  std::map<std::string, DailySeries, std::less<>> by_symbol_;
  DailySeries* last_ = nullptr;
  int skipped_ = 0;
  std::string first_problem_;
};

/// The one of `symbol`; where the file names one other alone, that, said.
Result<DailySeries> pick(std::vector<DailySeries> all, const std::string& symbol, std::string_view name) {
  const auto ours =
      std::find_if(all.begin(), all.end(), [&](const DailySeries& one) { return means_symbol(one.symbol, symbol); });
  if (ours == all.end() && all.size() > 1)
    return fail(std::string(name) + ": holds " + std::to_string(all.size()) + " symbols, and " + symbol +
                " is not among them; the file was not used");
  DailySeries out = std::move(ours == all.end() ? all.front() : *ours);
  if (all.size() > 1)
    out.choices.push_back("of its " + std::to_string(all.size()) + " symbols the rows of its own are taken");
  if (ours == all.end()) out.told_symbol = out.symbol;
  if (out.bars.empty()) return fail(out.first_problem);
  out.symbol = symbol;
  return out;
}

void append_row(std::string& out, const DailyBar& bar, const DailySeries& series, bool with_splits) {
  out += to_string(bar.day);
  for (const Price price : {bar.open, bar.high, bar.low, bar.close}) {
    out += ',';
    if (price.is_set()) out += to_string(price);
  }
  out += ',' + format_micros(static_cast<std::int64_t>(bar.volume * 1e6 + 0.5), 0);
  if (with_splits) {
    const auto split =
        std::find_if(series.splits.begin(), series.splits.end(), [&](const SplitOn& one) { return one.day == bar.day; });
    char ratio[32] = "1";
    if (split != series.splits.end()) std::snprintf(ratio, sizeof ratio, "%.10g", split->ratio);
    out.append(",").append(ratio);
  }
  out += std::binary_search(series.own.begin(), series.own.end(), bar.day) ? ",feed\n" : ",\n";
}

}  // namespace

bool means_symbol(std::string_view said, std::string_view symbol) {
  const auto same = [](std::string_view a, std::string_view b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](char x, char y) {
      const auto small = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
      return small(x) == small(y);
    });
  };
  if (same(said, symbol)) return true;
  if (said.size() <= symbol.size() + 1 || symbol.empty()) return false;
  const char after = said[symbol.size()], before = said[said.size() - symbol.size() - 1];
  return ((after == '.' || after == ':' || after == ' ') && same(said.substr(0, symbol.size()), symbol)) ||
         (before == ':' && same(said.substr(said.size() - symbol.size()), symbol));
}

Result<std::vector<DailySeries>> parse_all_daily(std::string_view text, std::string symbol, std::string_view name,
                                                 DailyRows rows) {
  DailyParser parser(std::move(symbol), name, rows);
  if (auto run = parser.run(text); !run) return tl::unexpected(run.error());
  auto all = parser.finish();
  if (all && all->size() == 1 && all->front().bars.empty() && all->front().first_problem.empty())
    return fail(parser.nothing());
  return all;
}

Result<DailySeries> parse_daily(std::string_view text, std::string symbol, std::string_view name, DailyRows rows) {
  auto all = parse_all_daily(text, symbol, name, rows);
  if (!all) return tl::unexpected(all.error());
  return pick(std::move(*all), symbol, name);
}

std::string daily_text(const DailySeries& series) {
  const bool with_splits = !series.splits.empty();
  std::string out =
      with_splits ? "date,open,high,low,close,volume,split ratio,from\n" : "date,open,high,low,close,volume,from\n";
  for (const DailyBar& bar : series.bars) append_row(out, bar, series, with_splits);
  return out;
}

}  // namespace brimwatch
