#include "history/keep.h"

#include "files/own_files.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

/// What stands there, every row of it; nothing where there is no file.
Result<DailySeries> read_kept(const std::string& path, const std::string& symbol) {
  DailySeries none;
  none.symbol = symbol;
  if (!is_there(path)) return none;
  auto kept = read_daily(path, DailyRows::every, {}, symbol);
  if (!kept) return fail(kept.error().text + "; nothing was added to it");
  if (!kept->told_symbol.empty())
    return fail(path + ": its rows are of " + kept->told_symbol + "; nothing was added to it");
  return kept;
}

/// By its name: KLVN.CSV and klvn.csv are plain text.
bool is_packed(const std::string& path) {
  const std::string ending = path.substr(path.rfind('.') + 1);
  return ending != "csv" && ending != "CSV";
}

/// A file of ours can be made anew from what was read of it; another may hold columns that we do not know.
bool is_ours(const std::string& path) {
  const auto text = read_file(path);
  if (!text) return false;
  const std::string_view header = std::string_view(*text).substr(0, text->find('\n'));
  return header == "date,open,high,low,close,volume,from" || header == "date,open,high,low,close,volume,split ratio,from";
}

Status keep_aside(const std::string& path, KeptDays& out) {
  if (!is_there(path) || is_ours(path)) return {};
  const std::string aside = path + ".old";
  if (is_there(aside)) return {};  // the first one, before we ever wrote, is the one to keep
  const auto text = read_file(path);
  if (!text) return tl::unexpected(text.error());
  if (auto kept = replace_file(aside, *text); !kept) return kept;
  out.old_kept_as = aside;
  return {};
}

bool has_changed(const MergedDays& merged) {
  return merged.added > 0 || merged.replaced_own > 0 || !merged.restated.empty() || !merged.new_splits.empty();
}

}  // namespace

Result<KeptDays> keep_days(const DailyStore& store, const DailySeries& fresh, const KeepTerms& terms) {
  KeptDays out;
  out.path = store.file_to_write(fresh.symbol);
  if (out.path.empty())
    return fail("[history] daily is one file for all symbols, which is only read; name a folder to fill");
  const std::string there = store.file_of(fresh.symbol);
  if (!there.empty() && there != out.path)
    return fail(there + ": " +
                (is_packed(there) ? "a packed file is only read; unpack it to " : "is only read; rename it to ") +
                out.path + " to have it extended");
  auto kept = read_kept(out.path, fresh.symbol);
  if (!kept) return tl::unexpected(kept.error());
  out.merged = merge_days(*kept, fresh, terms.own);
  if (out.merged.ratio != 1 && !kept->bars.empty() && kept->bars.front().day < fresh.bars.front().day) {
    if (!terms.is_whole) return out.ask_from = kept->bars.front().day, out;
    rescale_before(out.merged.series, fresh.bars.front().day, out.merged.ratio);
  }
  if (!has_changed(out.merged)) return out;
  if (auto aside = keep_aside(out.path, out); !aside) return tl::unexpected(aside.error());
  if (auto written = replace_file(out.path, daily_text(out.merged.series), 0644); !written)
    return tl::unexpected(written.error());
  return out;
}

}  // namespace brimwatch
