#include "weekend/prepare.h"

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <mutex>
#include <thread>

#include "files/daily_file.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
constexpr std::size_t kMostProblems = 20;
constexpr int kStaleDays = 7;       // a stock whose last bar is older than the newest by more is not traded any more
constexpr int kLeastBars = 60;      // three months: less holds no base with a rise before it
constexpr int kPictureBefore = 60;  // sessions shown before the base

/// The index is measured against, not looked at, even where its file lies among the stocks.
void leave_out(std::vector<std::string>& files, const std::string& index) {
  if (index.empty()) return;
  std::error_code error;
  std::erase_if(files, [&](const std::string& file) { return fs::equivalent(file, index, error); });
}

Result<std::vector<std::string>> list_files(const std::vector<std::string>& places, const std::string& index) {
  std::vector<std::string> files;
  for (const std::string& place : places) {
    std::error_code error;
    if (fs::is_directory(place, error)) {
      for (const auto& entry : fs::directory_iterator(place, error)) {
        if (entry.path().extension() == ".csv") files.push_back(entry.path().string());
      }
    } else {
      files.push_back(place);
    }
    if (error) return fail(place + ": cannot be read: " + error.message());
  }
  std::sort(files.begin(), files.end());
  files.erase(std::unique(files.begin(), files.end()), files.end());
  leave_out(files, index);
  if (files.empty()) return fail("no .csv files in the places given; nothing was prepared");
  return files;
}

/// What the events file and the series' own file tell; a split told by both is one split.
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

bool better(const Candidate& a, const Candidate& b) {
  if (a.judgement.score != b.judgement.score) return a.judgement.score > b.judgement.score;
  if (a.judgement.points != b.judgement.points) return a.judgement.points > b.judgement.points;
  if (a.symbol != b.symbol) return a.symbol < b.symbol;
  return a.base < b.base;  // an earlier start, so the longer base, of two that are worth the same
}

void attach_picture(Candidate& one, std::span<const DayBar> bars, std::span<const DayBar> index) {
  one.first = std::max(0, one.base.start - kPictureBefore);
  one.bars.assign(bars.begin() + one.first, bars.end());
  if (index.empty()) return;
  const auto line = strength_line(bars, index);
  one.line.assign(line.begin() + one.first, line.end());
}

class Scan {
 public:
  Scan(const PrepareInput& input, std::vector<DayBar> index, const std::vector<std::string>& keep)
      : input_(input), index_(std::move(index)), keep_(keep) {}

  void run(const std::vector<std::string>& files) {
    out_.files = static_cast<int>(files.size());
    std::vector<std::thread> others;
    for (int i = 1; i < std::min(input_.threads, out_.files); ++i) others.emplace_back([&] { work(files, false); });
    work(files, true);
    for (std::thread& other : others) other.join();
  }

  Prepared finish() {
    for (const auto& [symbol, day] : last_days_) out_.as_of = std::max(out_.as_of, day);
    for (const auto& [symbol, day] : last_days_) out_.stale += out_.as_of - day > kStaleDays;
    const auto stale = [&](const Candidate& one) { return out_.as_of - one.facts.as_of > kStaleDays; };
    std::erase_if(out_.candidates, stale);
    std::sort(out_.candidates.begin(), out_.candidates.end(), better);
    std::sort(out_.kept.begin(), out_.kept.end(),
              [](const SymbolBars& a, const SymbolBars& b) { return a.symbol < b.symbol; });
    std::sort(out_.problems.begin(), out_.problems.end());  // the same first ones whichever thread was quicker
    if (out_.problems.size() > kMostProblems) out_.problems.resize(kMostProblems);
    return std::move(out_);
  }

 private:
  void work(const std::vector<std::string>& files, bool tells) {
    for (std::size_t i = next_++; i < files.size(); i = next_++) {
      if (tells && input_.on_progress) input_.on_progress(i, files.size());
      auto series = read_daily(files[i], DailyRows::readable, input_.today);
      if (series) {
        one(*series, files[i]);
      } else {
        const std::lock_guard lock(mutex_);
        ++out_.unreadable;
        problem(series.error().text);
      }
    }
  }

  void problem(std::string text) {
    if (!text.empty()) out_.problems.push_back(std::move(text));
  }

  void one(DailySeries& series, const std::string& file) {
    auto& bars = series.bars;
    if (input_.as_of) bars.resize(static_cast<std::size_t>(last_bar_by(bars, *input_.as_of) + 1));
    const auto events = events_of(series, input_.events);
    const Adjusted adjusted = series.has_prices ? adjust_history(bars, events, input_.book.dividend_least) : Adjusted{};
    const bool enough = series.has_prices && static_cast<int>(bars.size()) >= kLeastBars;
    std::string trouble;
    auto found = enough ? candidates(series, trouble) : std::vector<Candidate>{};
    const auto every = found.size();
    if (!input_.all && !input_.named) choose(found, input_.book);
    for (Candidate& candidate : found) complete(candidate, series, adjusted);

    const std::lock_guard lock(mutex_);
    ++out_.stocks;
    out_.bars += static_cast<int>(bars.size());
    out_.bases += static_cast<int>(every);
    out_.too_short += !enough;
    out_.rows_skipped += series.skipped;
    out_.rows_mended += series.mended;
    problem(series.has_prices ? series.first_problem : file + ":1:1: no prices, only volume; no base can be found");
    problem(std::move(trouble));
    if (!bars.empty()) last_days_.emplace_back(series.symbol, bars.back().day);
    std::move(found.begin(), found.end(), std::back_inserter(out_.candidates));
    if (std::binary_search(keep_.begin(), keep_.end(), series.symbol))
      out_.kept.push_back({series.symbol, std::move(bars), events});
  }

  std::vector<Candidate> candidates(const DailySeries& series, std::string& trouble) const {
    const std::span<const DayBar> bars = series.bars;
    if (input_.named) return named(series, trouble);
    if (bars.back().close.as_double() < input_.book.price_least) return {};
    if (mean_volume(bars, static_cast<int>(bars.size()) - 1, 50) < input_.book.volume_least) return {};
    return judge_bases(series.symbol, bars, index_, input_.book);
  }

  /// The base whose dates the user named. A date without a bar means the next bar after it.
  std::vector<Candidate> named(const DailySeries& series, std::string& trouble) const {
    const NamedPoints& points = *input_.named;
    if (series.symbol != points.symbol) return {};
    const int last = static_cast<int>(series.bars.size()) - 1;
    const int start = last_bar_by(series.bars, points.base_start - 1) + 1;
    const int peak = points.handle_start ? last_bar_by(series.bars, *points.handle_start - 1) + 1 : last;
    if (start >= last || peak > last || peak <= start) {
      trouble = series.symbol + ": the base must start before the handle, and both before the last bar of " +
                to_string(series.bars.back().day) + "; nothing was computed";
      return {};
    }
    Candidate one;
    one.symbol = series.symbol;
    one.base = points.handle_start ? base_from_points(series.bars, start, peak) : flat_from_start(series.bars, start);
    one.facts = measure(series.bars, one.base, input_.book, {index_});
    one.judgement = judge(one.facts, input_.book);
    return {one};
  }

  void complete(Candidate& candidate, const DailySeries& series, const Adjusted& adjusted) const {
    const Date day = candidate.facts.as_of;
    candidate.adjusted = adjusted.told;
    candidate.report = report_warning(input_.reports, series.symbol, day, input_.book.report_days);
    candidate.ahead = event_warning(input_.events, series.symbol, day, input_.book.report_days);
    if (input_.keep_bars) attach_picture(candidate, series.bars, index_);
  }

  const PrepareInput& input_;
  const std::vector<DayBar> index_;
  const std::vector<std::string>& keep_;
  std::atomic<std::size_t> next_{0};
  std::mutex mutex_;  // guards what follows
  Prepared out_;
  std::vector<std::pair<std::string, Date>> last_days_;
};

}  // namespace

void choose(std::vector<Candidate>& found, const RuleBook& book) {
  std::vector<Candidate> chosen;
  for (Candidate& one : found) {
    if (one.judgement.score < book.score_least || static_cast<int>(chosen.size()) >= book.per_symbol) break;
    if (book.core_needed == 1 && !one.judgement.core_kept) continue;
    const auto same_pivot = [&](const Candidate& other) { return other.facts.pivot == one.facts.pivot; };
    if (std::none_of(chosen.begin(), chosen.end(), same_pivot)) chosen.push_back(std::move(one));
  }
  found = std::move(chosen);
}

std::vector<Candidate> judge_bases(const std::string& symbol, std::span<const DayBar> bars, std::span<const DayBar> index,
                                   const RuleBook& book) {
  std::vector<Candidate> out;
  for (const Base& base : find_bases(bars, book)) {
    Candidate one;
    one.symbol = symbol;
    one.base = base;
    one.facts = measure(bars, base, book, {index});
    one.judgement = judge(one.facts, book);
    out.push_back(std::move(one));
  }
  std::sort(out.begin(), out.end(), better);
  return out;
}

Result<Prepared> prepare(const PrepareInput& input, const std::vector<std::string>& keep_symbols) {
  const auto files = list_files(input.places, input.index);
  if (!files) return tl::unexpected(files.error());
  std::vector<DayBar> index;
  if (!input.index.empty()) {
    auto series = read_daily(input.index, DailyRows::readable, input.today);
    if (!series) return tl::unexpected(series.error());
    index = std::move(series->bars);
    if (input.as_of) index.resize(static_cast<std::size_t>(last_bar_by(index, *input.as_of) + 1));
  }
  Scan scan(input, std::move(index), keep_symbols);
  scan.run(*files);
  Prepared out = scan.finish();
  if (out.unreadable == out.files) return fail(out.problems.empty() ? "no file could be read" : out.problems.front());
  return out;
}

}  // namespace brimwatch
