#include "history/update.h"

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <set>

#include "bars/daily_text.h"
#include "files/own_files.h"

namespace brimwatch {
namespace {

/// The index lies where [market] says, the stocks in the folder.
DailyStore store_for(const Settings& settings, const std::string& symbol) {
  if (symbol == index_symbol_of(settings))
    return DailyStore(std::filesystem::path(settings.market.index).parent_path().string());
  return DailyStore(settings.history.daily);
}

/// The name of the file: the index's may differ from the symbol that the source knows.
std::string file_symbol(const Settings& settings, const std::string& symbol) {
  return symbol == index_symbol_of(settings) ? symbol_of_file(settings.market.index) : symbol;
}

/// The pages as one series; of days that are over.
Result<DailySeries> join_pages(const std::vector<std::string>& pages, const std::string& symbol, Date last_session) {
  DailySeries all;
  all.symbol = symbol;
  for (std::size_t i = 0; i < pages.size(); ++i) {
    auto page =
        parse_daily(pages[i], symbol, "answer" + (pages.size() > 1 ? " " + std::to_string(i + 1) : std::string()));
    if (!page) return page;
    if (!page->told_symbol.empty()) return fail("the source's answer is of " + page->told_symbol);
    if (i == 0) all.choices = page->choices, all.has_prices = page->has_prices;
    all.skipped += page->skipped;
    if (all.first_problem.empty()) all.first_problem = page->first_problem;
    all.bars.insert(all.bars.end(), page->bars.begin(), page->bars.end());
    all.splits.insert(all.splits.end(), page->splits.begin(), page->splits.end());
  }
  std::stable_sort(all.bars.begin(), all.bars.end(), [](const DailyBar& a, const DailyBar& b) { return a.day < b.day; });
  const auto twice = std::unique(all.bars.rbegin(), all.bars.rend(),
                                 [](const DailyBar& a, const DailyBar& b) { return a.day == b.day; });
  all.bars.erase(all.bars.begin(), twice.base());
  all.bars.resize(static_cast<std::size_t>(last_bar_by(all.bars, last_session) + 1));
  return all;
}

/// A volume that is 0 for a whole day is no volume: an index often has none, and stays so.
void note_reading(const DailySeries& series, SymbolUpdate& out) {
  out.remarks = series.choices;
  if (series.skipped > 0)
    out.remarks.push_back(std::to_string(series.skipped) + (series.skipped == 1 ? " row" : " rows") +
                          " left out: " + series.first_problem);
}

void note_kept(const KeptDays& kept, SymbolUpdate& out) {
  out.words = in_words(kept.merged);
  out.rows = static_cast<int>(kept.merged.series.bars.size());
  if (out.rows > 0) out.last = kept.merged.series.bars.back().day;
  out.split = kept.merged.ratio;
  if (!kept.merged.new_splits.empty() && out.split == 1)
    out.split = kept.merged.new_splits.back().ratio, out.split_day = kept.merged.new_splits.back().day;
  if (!kept.old_kept_as.empty()) out.remarks.push_back("the file as it was is kept as " + kept.old_kept_as);
}

SymbolUpdate take_series(const Settings& settings, const DaysWanted& wanted, DailySeries series) {
  SymbolUpdate out;
  out.symbol = wanted.symbol;
  note_reading(series, out);
  if (series.bars.empty()) return out.error = "the source has no day of it that is over", out;
  series.symbol = file_symbol(settings, wanted.symbol);
  const auto kept = keep_days(store_for(settings, wanted.symbol), series, {false, wanted.whole});
  if (!kept) return out.error = kept.error().text, out;
  if (kept->ask_from) return out.again = DaysWanted{wanted.symbol, *kept->ask_from, wanted.to, true}, out;
  note_kept(*kept, out);
  return out;
}

}  // namespace

std::string index_symbol_of(const Settings& settings) {
  if (settings.market.index.empty()) return {};
  return settings.history.index_symbol.empty() ? symbol_of_file(settings.market.index) : settings.history.index_symbol;
}

std::size_t clear_unfinished_days(const std::string& folder) {
  if (folder.empty()) return 0;
  return remove_unfinished(folder,
                           [](std::string_view name) { return name.ends_with(".csv") || name.ends_with(".csv.old"); });
}

std::size_t clear_unfinished(const Settings& settings) {
  std::size_t cleared = clear_unfinished_days(settings.history.daily);
  for (const std::string& file : {settings.history.splits, settings.history.earnings, settings.market.index}) {
    const std::filesystem::path path = file;
    if (file.empty()) continue;
    const std::string folder = path.has_parent_path() ? path.parent_path().string() : ".";
    cleared += remove_unfinished(folder, [&path](std::string_view name) { return name == path.filename().string(); });
  }
  return cleared;
}

std::vector<std::string> symbols_to_update(const Settings& settings) {
  std::set<std::string> symbols(settings.watches.symbols().begin(), settings.watches.symbols().end());
  if (const std::string index = index_symbol_of(settings); !index.empty()) symbols.insert(index);
  return {symbols.begin(), symbols.end()};
}

std::optional<DaysWanted> days_wanted(const Settings& settings, const std::string& symbol, Date last_session,
                                      bool only_missing) {
  const HistorySource& source = settings.history.source;
  DaysWanted wanted{symbol, last_session - source.days, last_session};
  DailyStore store = store_for(settings, symbol);
  const auto kept = store.read(file_symbol(settings, symbol), DailyRows::readable);
  if (!kept || kept->bars.empty()) return wanted;
  const bool has_last =
      kept->bars.back().day >= last_session && !std::binary_search(kept->own.begin(), kept->own.end(), last_session);
  if (has_last && only_missing) return std::nullopt;
  Date known = kept->bars.back().day;
  for (const Date own : kept->own) {
    if (own < known) known = own;  // what was heard is wanted as it was
    break;
  }
  wanted.from = std::min(known, last_session) - source.again;
  return wanted;
}

SymbolUpdate take_days(const Settings& settings, const DaysWanted& wanted, const std::vector<std::string>& pages,
                       Date last_session) {
  auto series = join_pages(pages, wanted.symbol, last_session);
  if (series) return take_series(settings, wanted, std::move(*series));
  SymbolUpdate out;
  out.symbol = wanted.symbol;
  out.error = series.error().text;
  return out;
}

std::vector<SymbolUpdate> take_all_days(const Settings& settings, const std::vector<std::string>& symbols,
                                        const std::vector<std::string>& pages, Date last_session) {
  std::map<std::string, std::vector<DailySeries>, std::less<>> found;
  std::vector<SymbolUpdate> out;
  for (const std::string& page : pages) {
    auto all = parse_all_daily(page, "", "answer");
    if (!all) {
      out.emplace_back().error = all.error().text;
      return out;
    }
    for (DailySeries& one : *all) found[one.symbol].push_back(std::move(one));
  }
  for (const std::string& symbol : symbols) {
    const auto at =
        std::find_if(found.begin(), found.end(), [&](const auto& one) { return means_symbol(one.first, symbol); });
    DailySeries series;
    for (DailySeries& part : at == found.end() ? std::vector<DailySeries>{} : at->second) {
      series.choices = part.choices;
      series.bars.insert(series.bars.end(), part.bars.begin(), part.bars.end());
      series.splits.insert(series.splits.end(), part.splits.begin(), part.splits.end());
    }
    series.bars.resize(static_cast<std::size_t>(last_bar_by(series.bars, last_session) + 1));
    out.push_back(take_series(settings, {symbol, {}, last_session, true}, std::move(series)));
  }
  return out;
}

SymbolUpdate take_own_day(const HistorySettings& history, const std::string& symbol, const DailyBar& bar) {
  SymbolUpdate out;
  out.symbol = symbol;
  DailySeries one;
  one.symbol = symbol;
  one.bars = {bar};
  const auto kept = keep_days(DailyStore(history.daily), one, {true, false});
  if (!kept) return out.error = kept.error().text, out;
  note_kept(*kept, out);
  return out;
}

}  // namespace brimwatch
