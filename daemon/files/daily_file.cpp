#include "files/daily_file.h"

#include <algorithm>
#include <array>
#include <filesystem>
#include <utility>

#include "core/text/text.h"
#include "files/packed_file.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

constexpr std::array<std::string_view, 5> kDailyEndings = {".csv", ".csv.gz", ".csv.zst", ".csv.zip",
                                                           ".zip"};  // the first wins
constexpr std::size_t kEndingsNamed = 3;

std::string in_case(std::string_view text, char from, char to, int step) {
  std::string out(text);
  for (char& c : out)
    if (c >= from && c <= to) c = static_cast<char>(c + step);
  return out;
}
std::string small(std::string_view text) { return in_case(text, 'A', 'Z', 32); }
std::string large(std::string_view text) { return in_case(text, 'a', 'z', -32); }

/// Where its ending stands among those that are read, in letters of either case; nothing where it is none of them.
std::optional<std::size_t> rank_of(const std::string& name) {
  if (name.starts_with(".")) return std::nullopt;
  const std::string plain = small(name);
  for (std::size_t rank = 0; rank < kDailyEndings.size(); ++rank)
    if (plain.ends_with(kDailyEndings[rank])) return rank;
  return std::nullopt;
}

/// "FILE:30:1: " of the first row with that day.
std::string place_of_day(Date day, std::string_view text, const std::string& path) {
  const std::size_t at = text.find(to_string(day));
  if (at == std::string_view::npos) return path + ": ";
  const std::string_view before = text.substr(0, at);
  const std::size_t start = before.rfind('\n') + 1;  // npos + 1: the first line
  const auto line = std::count(before.begin(), before.end(), '\n') + 1;
  return path + ":" + std::to_string(line) + ":" + std::to_string(at - start + 1) + ": ";
}

void leave_out_after(Date last_over, DailySeries& series, std::string_view text, const std::string& path) {
  const auto kept = static_cast<std::size_t>(last_bar_by(series.bars, last_over) + 1);
  if (kept == series.bars.size()) return;
  const Date first = series.bars[kept].day;
  const auto gone = series.bars.size() - kept;
  series.skipped += static_cast<int>(gone);
  series.bars.resize(kept);
  series.first_problem = place_of_day(first, text, path) + "date: found " + to_string(first) +
                         ", expected a session that is over, the last of them " + to_string(last_over) +
                         (gone == 1 ? "; the row was left out" : "; it and later rows were left out");
}

/// A symbol is hostile input: it must not climb out of the directory.
bool is_file_name(const std::string& symbol) {
  return !symbol.empty() && symbol.front() != '.' && symbol.find('/') == std::string::npos;
}

std::string_view without_ending(std::string_view name) {
  const std::string plain = small(name);
  for (const std::string_view ending : {".csv.gz", ".csv.zst", ".csv.zip", ".csv", ".zip", ".txt", ".tsv"}) {
    if (name.size() > ending.size() && plain.ends_with(ending)) return name.substr(0, name.size() - ending.size());
  }
  return name.substr(0, name.rfind('.') == 0 ? name.size() : name.rfind('.'));
}

std::string place_of_text(const std::string& path, const NamedText& text, std::size_t texts) {
  return texts == 1 ? path : path + ": " + text.name;
}

/// What may have been meant: KLVN.txt, which no command reads.
std::string other_ending(const std::string& folder, const std::string& symbol) {
  for (const char* ending : {".txt", ".tsv", ".TXT", ".xlsx", ".xls", ".json", ".parquet", ""}) {
    std::error_code error;
    if (is_file_name(symbol) && fs::is_regular_file(folder + "/" + symbol + ending, error))
      return ", and " + symbol + ending + " is not read: daily bars are .csv, .csv.gz, .csv.zst or .zip";
  }
  return {};
}

}  // namespace

std::string symbol_of_file(const std::string& path) {
  const std::string name = fs::path(path).filename().string();
  return std::string(without_ending(name));
}

Result<DailySeries> read_daily(const std::string& path, DailyRows rows, std::optional<Date> last_over,
                               const std::string& symbol) {
  const auto texts = read_packed(path);
  if (!texts) return tl::unexpected(texts.error());
  const std::string wanted = symbol.empty() ? symbol_of_file(path) : symbol;
  const auto own = std::find_if(texts->begin(), texts->end(),
                                [&](const NamedText& one) { return without_ending(one.name) == wanted; });
  const NamedText& text = own == texts->end() ? texts->front() : *own;
  auto series = parse_daily(text.text, wanted, place_of_text(path, text, texts->size()), rows);
  if (series && texts->size() > 1 && own == texts->end())
    return fail(path + ": holds " + std::to_string(texts->size()) + " files and none named " + wanted +
                ".csv; the file was not used");
  if (series && last_over) leave_out_after(*last_over, *series, text.text, path);
  return series;
}

Result<std::vector<DailySeries>> read_all_daily(const std::string& path, DailyRows rows, std::optional<Date> last_over) {
  const auto texts = read_packed(path);
  if (!texts) return tl::unexpected(texts.error());
  std::vector<DailySeries> out;
  for (const NamedText& text : *texts) {
    const std::string symbol = texts->size() == 1 ? symbol_of_file(path) : std::string(without_ending(text.name));
    auto series = parse_all_daily(text.text, symbol, place_of_text(path, text, texts->size()), rows);
    if (!series) return tl::unexpected(series.error());
    const bool alone = series->size() == 1 && !series->front().symbol.empty();
    for (DailySeries& one : *series) {
      if (alone && !means_symbol(one.symbol, symbol)) one.told_symbol = one.symbol;
      if (alone) one.symbol = symbol;
      if (last_over) leave_out_after(*last_over, one, text.text, path);
      out.push_back(std::move(one));
    }
  }
  return out;
}

Result<std::vector<std::string>> daily_files(const std::string& place) {
  std::error_code error;
  if (!fs::is_directory(place, error)) return std::vector<std::string>{place};
  std::map<std::string, std::pair<std::size_t, std::string>> best;  // by symbol: rank of the ending, path
  for (fs::directory_iterator at(place, error), end; !error && at != end; at.increment(error)) {
    const std::string name = at->path().filename().string();
    const auto rank = rank_of(name);
    if (!rank) continue;
    const std::pair found{*rank, at->path().string()};
    const auto [known, fresh] = best.try_emplace(symbol_of_file(name), found);
    if (!fresh) known->second = std::min(known->second, found);
  }
  if (error) return fail(place + ": cannot be read: " + error.message());
  std::vector<std::string> out;
  for (auto& [symbol, found] : best) out.push_back(std::move(found.second));
  std::sort(out.begin(), out.end());
  return out;
}

std::string passed_over(const std::string& place) {
  std::error_code error;
  std::map<std::string, std::size_t> endings;  // and how many files have it
  std::size_t files = 0;
  if (!fs::is_directory(place, error)) return {};
  for (fs::directory_iterator at(place, error), end; !error && at != end; at.increment(error)) {
    const std::string name = at->path().filename().string();
    std::error_code problem;
    const bool ours = name.starts_with(".") || small(name).ends_with(".csv.old") || rank_of(name);  // .old: kept by us
    if (ours || !at->is_regular_file(problem)) continue;
    const std::string ending = at->path().extension().string();
    ++files, ++endings[ending.empty() ? "without an ending" : clean_line(ending, 12)];
  }
  if (files == 0) return {};
  std::vector<std::pair<std::size_t, std::string>> by_count;
  for (const auto& [ending, count] : endings) by_count.emplace_back(count, ending);
  std::stable_sort(by_count.begin(), by_count.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  std::string named;
  for (std::size_t i = 0; i < std::min(by_count.size(), kEndingsNamed); ++i)
    named += (i == 0 ? "" : ", ") + std::to_string(by_count[i].first) + " " + by_count[i].second;
  return place + ": passed over " + std::to_string(files) + (files == 1 ? " file (" : " files (") + named +
         (by_count.size() > kEndingsNamed ? " and others" : "") +
         "): daily bars are SYMBOL.csv, .csv.gz, .csv.zst or .zip";
}

Status DailyStore::look() const {
  std::error_code error;
  return fs::is_regular_file(place_, error) ? Status() : look_into(place_);
}

bool DailyStore::is_one_file() const {
  std::error_code error;
  return fs::is_regular_file(place_, error);
}

std::string DailyStore::file_of(const std::string& symbol) const {
  if (place_.empty() || !is_file_name(symbol)) return {};
  if (is_one_file()) return place_;
  for (const std::string& name : {symbol, small(symbol)}) {
    for (const std::string_view ending : kDailyEndings) {
      for (const std::string& written : {std::string(ending), large(ending)})
        if (std::string path = place_ + "/" + name + written; is_there(path)) return path;
    }
  }
  return {};
}

std::string DailyStore::file_to_write(const std::string& symbol) const {
  return place_.empty() || !is_file_name(symbol) || is_one_file() ? std::string() : place_ + "/" + symbol + ".csv";
}

Result<DailySeries> DailyStore::read(const std::string& symbol, DailyRows rows) {
  const std::string path = file_of(symbol);
  if (path.empty()) return fail(place_ + "/" + symbol + ".csv: found no such file" + other_ending(place_, symbol));
  if (path != place_) return read_daily(path, rows, {}, symbol);
  auto& all = all_[rows];
  if (all == nullptr) all = std::make_shared<All>(All{read_all_daily(place_, rows)});
  if (!all->series) return tl::unexpected(all->series.error());
  for (const DailySeries& one : *all->series) {
    if (!means_symbol(one.symbol, symbol)) continue;
    if (one.bars.empty()) return fail(one.first_problem);
    DailySeries copy = one;
    copy.symbol = symbol;
    return copy;
  }
  return fail(place_ + ": holds no rows of " + symbol);
}

}  // namespace brimwatch
