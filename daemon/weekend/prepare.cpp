#include "weekend/prepare.h"

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <mutex>
#include <thread>

#include "bars/faults.h"
#include "files/daily_file.h"
#include "weekend/choose.h"
#include "weekend/doubts.h"
#include "weekend/places.h"
#include "weekend/weekly.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
constexpr std::size_t kMostProblems = 20;
constexpr int kStaleDays = 7;       // a stock whose last bar is older than the newest by more is not traded any more
constexpr int kLeastBars = 60;      // three months: less holds no base with a rise before it
constexpr int kPictureBefore = 60;  // sessions shown before the base
constexpr std::size_t kPictureWeeks = 104;

void attach_picture(Candidate& one, std::span<const DailyBar> bars, std::span<const DailyBar> index) {
  one.first = std::max(0, one.base.start - kPictureBefore);
  one.bars.assign(bars.begin() + one.first, bars.end());
  one.weeks = weekly_bars(bars);
  if (one.weeks.size() > kPictureWeeks) one.weeks.erase(one.weeks.begin(), one.weeks.end() - kPictureWeeks);
  if (index.empty()) return;
  const auto line = strength_line(bars, index);
  one.line.assign(line.begin() + one.first, line.end());
}

class Scan {
 public:
  Scan(const PrepareInput& input, std::vector<DailyBar> index, const std::vector<std::string>& keep)
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
    for (const auto& [symbol, day] : last_days_) out_.stale += is_stale(day);
    set_stale_aside();
    auto& found = out_.candidates;
    std::sort(found.begin(), found.end(), stands_before);
    out_.odds = odds_;
    out_.near = static_cast<int>(
        std::count_if(found.begin(), found.end(), [&](const Candidate& one) { return is_near(one, input_.book); }));
    const auto by_symbol = [](const auto& a, const auto& b) { return a.symbol < b.symbol; };
    std::sort(out_.kept.begin(), out_.kept.end(), by_symbol);
    std::stable_sort(out_.not_listed.begin(), out_.not_listed.end(), by_symbol);
    std::sort(out_.problems.begin(), out_.problems.end());  // the same first ones whichever thread was quicker
    if (out_.problems.size() > kMostProblems) out_.problems.resize(kMostProblems);
    return std::move(out_);
  }

 private:
  void work(const std::vector<std::string>& files, bool tells) {
    for (std::size_t i = next_++; i < files.size(); i = next_++) {
      if (tells && input_.on_progress) input_.on_progress(i, files.size());
      auto all = read_all_daily(files[i], DailyRows::readable, input_.last_over);
      if (!all) {
        const std::lock_guard lock(mutex_);
        ++out_.unreadable;
        problem(all.error().text);
        out_.not_listed.push_back({symbol_of_file(files[i]), "its file could not be read", {}});
        continue;
      }
      for (DailySeries& series : *all) {
        const bool wanted = all->size() == 1 || is_wanted(series.symbol);
        if (wanted) one(series, files[i]);
      }
    }
  }

  /// Of a file for many symbols.
  [[nodiscard]] bool is_wanted(const std::string& symbol) const {
    const std::string& only = input_.named ? input_.named->symbol : input_.symbol;
    if (!only.empty()) return only == symbol;
    return input_.symbols.empty() || input_.symbols.contains(symbol);
  }

  [[nodiscard]] bool is_stale(Date day) const { return out_.as_of - day > kStaleDays; }

  void set_stale_aside() {
    for (const Candidate& one : out_.candidates) {
      if (is_stale(one.facts.as_of)) out_.not_listed.push_back({one.symbol, {}, one.facts.as_of});
    }
    std::erase_if(out_.candidates, [&](const Candidate& one) { return is_stale(one.facts.as_of); });
    for (NotListed& one : out_.not_listed) {
      if (one.last != Date{} && is_stale(one.last))
        one.reason = "its last bar is of " + to_string(one.last) + ": not traded lately";
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
    const TrustedBars trusted = treat_rows(series);
    std::string trouble, reason = too_little(series);
    const bool enough = reason.empty();
    auto found = enough ? candidates(series, trouble, reason) : std::vector<Candidate>{};
    const auto shapes = std::count_if(found.begin(), found.end(),
                                      [](const Candidate& one) { return one.facts.kind != BaseKind::no_base; });
    if (enough && reason.empty()) reason = why_none(found, input_.book);
    if (!input_.all && !input_.named) choose(found, input_.book);
    for (Candidate& candidate : found) complete(candidate, series, adjusted, events, trusted);
    if (found.empty() && enough) add_doubts(reason, bars, events);

    const std::lock_guard lock(mutex_);
    ++out_.stocks;
    out_.bars += static_cast<int>(bars.size());
    out_.bases += static_cast<int>(shapes);
    out_.too_short += !enough;
    if (found.empty()) out_.not_listed.push_back({series.symbol, reason, bars.empty() ? Date{} : bars.back().day});
    out_.rows_skipped += series.skipped;
    out_.rows_mended += series.mended;
    problem(series.has_prices ? series.first_problem : file + ":1:1: no prices, only volume; no base can be found");
    problem(std::move(trouble));
    if (!bars.empty()) last_days_.emplace_back(series.symbol, bars.back().day);
    std::move(found.begin(), found.end(), std::back_inserter(out_.candidates));
    if (std::binary_search(keep_.begin(), keep_.end(), series.symbol))
      out_.kept.push_back({series.symbol, std::move(bars), events});
  }

  /// What doubts_of() looks into itself, round each base, is left to it.
  TrustedBars treat_rows(DailySeries& series) const {
    BarChecks checks = input_.checks;
    checks.missing = checks.still = checks.stale = BarTreatment::use;
    if (checks.split == BarTreatment::doubt) checks.split = BarTreatment::use;
    if (checks.repeat == BarTreatment::leave_out) checks.repeat = BarTreatment::doubt;  // or sessions would be missing
    return treat(series, {checks, input_.sessions, {}, input_.book.rise_within + input_.book.length_most});
  }

  static std::string too_little(const DailySeries& series) {
    if (!series.has_prices) return "no prices in its file, only volume";
    if (!series.told_symbol.empty() && series.bars.empty()) return "the rows of its file are of " + series.told_symbol;
    if (static_cast<int>(series.bars.size()) >= kLeastBars) return {};
    return std::to_string(series.bars.size()) + " bars; at least " + std::to_string(kLeastBars) + " needed";
  }

  [[nodiscard]] MarketView market() const { return {index_, input_.half_days}; }

  std::vector<Candidate> candidates(const DailySeries& series, std::string& trouble, std::string& reason) const {
    const std::span<const DailyBar> bars = series.bars;
    if (input_.named) {
      auto found = named(series, trouble);
      if (found.empty()) reason = "the dates named do not make a base";
      return found;
    }
    if (bars.back().close.as_double() < input_.book.price_least) reason = "last close under price_least";
    if (full_day_volume(bars, static_cast<int>(bars.size()) - 1, input_.half_days) < input_.book.volume_least)
      reason = "normal volume under volume_least";
    return reason.empty() ? judge_bases(series.symbol, bars, market(), input_.book) : std::vector<Candidate>{};
  }

  /// Bars that are doubtful may be why no base is found.
  void add_doubts(std::string& reason, std::span<const DailyBar> bars, const std::vector<PriceEvent>& events) const {
    const int rise = static_cast<int>(bars.size()) - input_.book.rise_within;
    const auto doubts = doubts_of(bars, {rise, rise}, events, input_.sessions, input_.checks);
    if (!doubts.empty()) reason += "; doubtful bars: " + doubts.front();
  }

  /// The base whose dates the user named. A date without a bar means the next bar after it.
  std::vector<Candidate> named(const DailySeries& series, std::string& trouble) const {
    const NamedPoints& points = *input_.named;
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
    one.facts = measure(series.bars, one.base, input_.book, market());
    one.judgement = judge(one.facts, input_.book);
    return {one};
  }

  void complete(Candidate& candidate, const DailySeries& series, const Adjusted& adjusted,
                const std::vector<PriceEvent>& events, const TrustedBars& trusted) const {
    const Date day = candidate.facts.as_of;
    const Grounds grounds{candidate.base.start, candidate.base.start - input_.book.rise_within};
    candidate.doubts = doubts_of(series.bars, grounds, events, input_.sessions, input_.checks);
    const int first = std::max(0, grounds.rise);
    for (const auto* findings : {&trusted.doubts, &trusted.left_out}) {
      for (const BarFinding& finding : *findings)
        if (finding.day >= series.bars[static_cast<std::size_t>(first)].day) candidate.doubts.push_back(finding.text);
    }
    if (!candidate.doubts.empty()) candidate.judgement = unjudged(std::move(candidate.judgement), candidate.doubts);
    candidate.outlook = outlook_of(series.bars, candidate.facts.pivot, odds_);
    candidate.adjusted = adjusted.told;
    candidate.report = report_warning(input_.reports, series.symbol, day, input_.book.report_days);
    candidate.ahead = event_warning(input_.events, series.symbol, day, input_.book.report_days);
    if (input_.keep_bars) attach_picture(candidate, series.bars, index_);
  }

  const PrepareInput& input_;
  const std::vector<DailyBar> index_;
  const OddsBook odds_ = odds_book(input_.book);
  const std::vector<std::string>& keep_;
  std::atomic<std::size_t> next_{0};
  std::mutex mutex_;  // guards what follows
  Prepared out_;
  std::vector<std::pair<std::string, Date>> last_days_;
};

}  // namespace

std::vector<Candidate> judge_bases(const std::string& symbol, std::span<const DailyBar> bars, const MarketView& market,
                                   const RuleBook& book) {
  std::vector<Candidate> out;
  for (const Base& base : find_bases(bars, book)) {
    Candidate one;
    one.symbol = symbol;
    one.base = base;
    one.facts = measure(bars, base, book, market);
    one.judgement = judge(one.facts, book);
    out.push_back(std::move(one));
  }
  std::sort(out.begin(), out.end(), fits_better);
  return out;
}

Result<Prepared> prepare(const PrepareInput& input, const std::vector<std::string>& keep_symbols) {
  const auto files = bar_files(input.places, input.index, input.named ? input.named->symbol : input.symbol);
  if (!files) return tl::unexpected(files.error());
  std::vector<DailyBar> index;
  if (!input.index.empty()) {
    auto series = read_daily(input.index, DailyRows::readable, input.last_over);
    if (!series) return tl::unexpected(series.error());
    index = std::move(series->bars);
    if (input.as_of) index.resize(static_cast<std::size_t>(last_bar_by(index, *input.as_of) + 1));
  }
  Scan scan(input, std::move(index), keep_symbols);
  scan.run(*files);
  Prepared out = scan.finish();
  for (const std::string& place : input.places) {
    if (std::string others = passed_over(place); !others.empty()) out.problems.push_back(std::move(others));
  }
  if (out.unreadable == out.files) return fail(out.problems.empty() ? "no file could be read" : out.problems.front());
  return out;
}

}  // namespace brimwatch
