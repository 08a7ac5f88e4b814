#include "app/base_pictures.h"

#include <cmath>
#include <filesystem>
#include <set>

#include "files/daily_file.h"
#include "files/text_file.h"
#include "weekend/picture.h"
#include "weekend/prepare.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

/// Each file once: one for all symbols is named by each of them.
std::vector<std::string> files_of(const std::set<std::string>& symbols, const DailyStore& store) {
  std::set<std::string> files;
  for (const std::string& symbol : symbols) {
    std::error_code error;
    const std::string path = store.file_of(symbol);
    if (files.size() < kBasePicturesMost && fs::is_regular_file(path, error)) files.insert(path);
  }
  return {files.begin(), files.end()};
}

/// Whether a watch of that symbol has this pivot, or nearly: lists round, and history is adjusted.
bool is_watched(const Settings& settings, const Candidate& one) {
  const WatchList& watches = settings.watches;
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const double off = watches.pivot(i).as_double() / one.facts.pivot.as_double() - 1;
    if (watches.symbol(i) == one.symbol && std::abs(off) < 0.0005) return true;
  }
  return false;
}

PrepareInput input_of(const Settings& settings) {
  PrepareInput input;
  input.symbols = {settings.watches.symbols().begin(), settings.watches.symbols().end()};
  input.places = files_of(input.symbols, DailyStore(settings.history.daily));
  input.checks = settings.history.checks;
  std::error_code error;
  if (fs::is_regular_file(settings.market.index, error)) input.index = settings.market.index;
  input.book = settings.prepare;
  input.keep_bars = input.all = true;
  input.threads = 1;
  if (settings.history.splits.empty()) return input;
  const auto text = read_file(settings.history.splits);
  if (!text) return input;
  if (auto events = parse_price_events(*text, settings.history.splits)) input.events = std::move(*events);
  return input;
}

}  // namespace

BasePictures draw_bases(const Settings& settings) {
  BasePictures out;
  if (settings.history.daily.empty()) return out;
  const PrepareInput input = input_of(settings);
  if (input.places.empty()) return out;
  const auto prepared = prepare(input);
  if (!prepared) return out;
  std::set<std::string> exact;
  for (const Candidate& one : prepared->candidates) {  // the nearest first
    const bool watched = is_watched(settings, one);
    if (!watched && one.facts.kind == BaseKind::no_base) continue;
    if (exact.contains(one.symbol) || (!watched && out.contains(one.symbol))) continue;
    if (watched) exact.insert(one.symbol);
    out.insert_or_assign(one.symbol, base_picture(one, settings.rules.range / 1e6));
  }
  return out;
}

}  // namespace brimwatch
