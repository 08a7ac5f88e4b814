// Files of daily bars: which there are, and their text.
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>

#include "weekend/prepare.h"

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

Result<std::string> read_file(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return fail(path + ": cannot be read: " + std::strerror(errno));
  struct stat about {};
  std::string text;
  if (::fstat(file, &about) == 0 && about.st_size > 0) text.resize(static_cast<std::size_t>(about.st_size));
  std::size_t have = 0;
  while (true) {
    if (have == text.size()) text.resize(text.size() + 65536);
    const ssize_t got = ::read(file, text.data() + have, text.size() - have);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) {
      const std::string why = std::strerror(errno);
      ::close(file);
      return fail(path + ": cannot be read: " + why);
    }
    if (got == 0) break;
    have += static_cast<std::size_t>(got);
  }
  ::close(file);
  text.resize(have);
  return text;
}

Result<DailySeries> load_daily(const std::string& path, std::optional<Date> today) {
  auto text = read_file(path);
  if (!text) return tl::unexpected(text.error());
  auto series = parse_daily(*text, std::filesystem::path(path).stem().string(), path);
  if (series && today) leave_out_after(*today, *series, *text, path);
  return series;
}

}  // namespace brimwatch
