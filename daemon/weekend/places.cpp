#include "weekend/places.h"

#include <algorithm>
#include <filesystem>

#include "files/daily_file.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

void leave_out(std::vector<std::string>& files, const std::string& index) {
  if (index.empty()) return;
  std::error_code error;
  std::erase_if(files, [&](const std::string& file) { return fs::equivalent(file, index, error); });
}

/// Only the file of `symbol`, where one is asked for.
Status keep_only(std::vector<std::string>& files, const std::string& symbol) {
  if (symbol.empty()) return {};
  const std::size_t all = files.size();
  std::erase_if(files, [&](const std::string& file) { return symbol_of_file(file) != symbol; });
  if (!files.empty()) return {};
  return fail("--symbol: found \"" + symbol + "\", and no " + symbol + ".csv is among the " + std::to_string(all) +
              " files of daily bars; nothing was prepared");
}

}  // namespace

Result<std::vector<std::string>> bar_files(const std::vector<std::string>& places, const std::string& index,
                                           const std::string& symbol) {
  std::vector<std::string> files;
  for (const std::string& place : places) {
    const auto found = daily_files(place);
    if (!found) return tl::unexpected(found.error());
    files.insert(files.end(), found->begin(), found->end());
  }
  std::sort(files.begin(), files.end());
  files.erase(std::unique(files.begin(), files.end()), files.end());
  leave_out(files, index);
  if (files.empty()) {
    std::string others;
    for (const std::string& place : places) {
      const std::string line = passed_over(place);
      if (!line.empty()) others += "; " + line;
    }
    return fail("no .csv files in the places given; nothing was prepared" + others);
  }
  if (places.size() == 1 && files == places) return files;  // it may be one for all symbols
  if (auto done = keep_only(files, symbol); !done) return tl::unexpected(done.error());
  return files;
}

std::vector<PriceEvent> events_of(const DailySeries& series, const PriceEvents& all) {
  const auto found = all.find(series.symbol);
  auto out = found == all.end() ? std::vector<PriceEvent>{} : found->second;
  for (const SplitOn& split : series.splits) add_split(out, split);
  const auto same = [](const PriceEvent& a, const PriceEvent& b) {
    return a.day == b.day && a.ratio == b.ratio && a.amount == b.amount;
  };
  out.erase(std::unique(out.begin(), out.end(), same), out.end());  // an events file may tell one twice
  return out;
}

}  // namespace brimwatch
