#include "files/daily_file.h"

#include <algorithm>
#include <filesystem>

#include "files/text_file.h"

namespace brimwatch {
namespace {

/// "FILE:30:1: " of the first row with that day.
std::string place_of(Date day, std::string_view text, const std::string& path) {
  const std::size_t at = std::min(text.find(to_string(day)), text.size());
  const std::string_view before = text.substr(0, at);
  const std::size_t start = before.rfind('\n') + 1;  // npos + 1: the first line
  const auto line = std::count(before.begin(), before.end(), '\n') + 1;
  return path + ":" + std::to_string(line) + ":" + std::to_string(at - start + 1) + ": ";
}

void leave_out_after(Date today, DailySeries& series, std::string_view text, const std::string& path) {
  const auto kept = static_cast<std::size_t>(last_bar_by(series.bars, today) + 1);
  if (kept == series.bars.size()) return;
  const Date first = series.bars[kept].day;
  series.skipped += static_cast<int>(series.bars.size() - kept);
  series.bars.resize(kept);
  series.first_problem = place_of(first, text, path) + "date: found " + to_string(first) +
                         ", expected a day not after today, " + to_string(today) + "; the row was left out";
}

}  // namespace

Result<DailySeries> read_daily(const std::string& path, DailyRows rows, std::optional<Date> today) {
  const auto text = read_file(path);
  if (!text) return tl::unexpected(text.error());
  auto series = parse_daily(*text, std::filesystem::path(path).stem().string(), path, rows);
  if (series && today) leave_out_after(*today, *series, *text, path);
  return series;
}

}  // namespace brimwatch
