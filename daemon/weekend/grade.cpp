#include "weekend/grade.h"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>

#include "crossings/plain_high.h"
#include "files/daily_file.h"
#include "weekend/choose.h"
#include "weekend/doubts.h"
#include "weekend/places.h"

namespace brimwatch {
namespace {

constexpr Date kOneFriday = Date::of(2013, 9, 6);
constexpr int kFortnight = 14;

/// The weekends of a history.
std::vector<Date> weekends_of(const std::vector<DailyBar>& bars) {
  if (bars.empty()) return {};
  const int off = (bars.front().day - kOneFriday) % kFortnight;
  const Date first = bars.front().day + (off > 0 ? kFortnight - off : -off);
  return days_between(first, bars.back().day, kFortnight);
}

class Grading {
 public:
  explicit Grading(const PrepareInput& input) : input_(input) {}

  Graded run(const std::vector<std::string>& files) {
    out_.files = static_cast<int>(files.size());
    std::vector<std::thread> others;
    for (int i = 1; i < std::min(input_.threads, out_.files); ++i) others.emplace_back([&] { work(files, false); });
    work(files, true);
    for (std::thread& other : others) other.join();
    for (auto* watches : {&out_.listed, &out_.plain}) put_in_order(*watches);
    if (!out_.plain.empty()) out_.from = out_.plain.front().weekend;
    if (!out_.plain.empty()) out_.to = out_.plain.back().weekend;
    return std::move(out_);
  }

 private:
  /// The same order whichever thread was quicker: the figures must not depend on it.
  static void put_in_order(std::vector<WeekendWatch>& watches) {
    std::sort(watches.begin(), watches.end(), [](const WeekendWatch& a, const WeekendWatch& b) {
      if (a.weekend != b.weekend) return a.weekend < b.weekend;
      if (a.ordinary_move != b.ordinary_move) return a.ordinary_move < b.ordinary_move;
      return a.moves_to_pivot < b.moves_to_pivot;
    });
  }

  void work(const std::vector<std::string>& files, bool tells) {
    for (std::size_t i = next_++; i < files.size(); i = next_++) {
      if (tells && input_.on_progress) input_.on_progress(i, files.size());
      auto all = read_all_daily(files[i], DailyRows::readable, input_.last_over);
      if (all) {
        for (DailySeries& series : *all) take(series);
      } else {
        const std::lock_guard lock(mutex_);
        ++out_.unreadable;
      }
    }
  }

  void take(DailySeries& series) {
    const Graded one = series.has_prices && !series.bars.empty() ? of_stock(series) : Graded{};
    {
      const std::lock_guard lock(mutex_);
      ++out_.stocks;
      out_.short_history += one.short_history;
      out_.doubtful += one.doubtful;
      out_.listed.insert(out_.listed.end(), one.listed.begin(), one.listed.end());
      out_.plain.insert(out_.plain.end(), one.plain.begin(), one.plain.end());
    }
  }

  [[nodiscard]] Graded of_stock(DailySeries& series) const {
    Graded out;
    if (input_.as_of) series.bars.resize(static_cast<std::size_t>(last_bar_by(series.bars, *input_.as_of) + 1));
    const auto events = events_of(series, input_.events);
    adjust_history(series.bars, events, input_.book.dividend_least);
    bool any = false;
    for (const Date weekend : weekends_of(series.bars)) {
      const int last = known_at(series.bars, weekend);
      if (last < 0) continue;
      any = true;
      if (!unit_doubt(std::span(series.bars).first(static_cast<std::size_t>(last + kBarsAfter + 1)), last - kMoveSessions,
                      events)
               .empty()) {
        ++out.doubtful;
        continue;
      }
      add_weekend(series, last, weekend, out);
    }
    out.short_history = !any;
    return out;
  }

  void add_weekend(const DailySeries& series, int last, Date weekend, Graded& out) const {
    const std::span<const DailyBar> bars = series.bars;
    const auto add = [&](Price pivot, std::vector<WeekendWatch>& to) {
      if (auto watch = watch_of(bars, last, pivot, weekend)) to.push_back(*watch);
    };
    if (const auto high = plain_high(bars, last)) add(high->pivot, out.plain);
    auto found = judge_bases(series.symbol, bars.first(static_cast<std::size_t>(last) + 1), {}, input_.book);
    std::erase_if(found, [](const Candidate& one) { return one.facts.kind == BaseKind::no_base; });
    choose(found, input_.book);
    for (const Candidate& one : found) add(one.facts.pivot, out.listed);
  }

  const PrepareInput& input_;
  std::atomic<std::size_t> next_{0};
  std::mutex mutex_;  // guards what follows
  Graded out_;
};

}  // namespace

Result<Graded> grade(const PrepareInput& input) {
  const auto files = bar_files(input.places, input.index, input.symbol);
  if (!files) return tl::unexpected(files.error());
  Graded out = Grading(input).run(*files);
  if (!out.plain.empty()) return out;
  return fail("no stock has " + std::to_string(kBarsNeeded) + " sessions before a weekend, " +
              std::to_string(kBarsAfter) + " after it, and a plain high: nothing could be graded");
}

}  // namespace brimwatch
