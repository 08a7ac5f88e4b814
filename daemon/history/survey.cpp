#include "history/survey.h"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <thread>
#include <unordered_map>

#include "files/daily_file.h"
#include "weekend/places.h"

namespace brimwatch {
namespace {

constexpr int kAlikeRows = 20;  // so many newest rows the same to the last share are no chance

/// Of the newest rows: two symbols never have the same. 0: too few rows, or rows that are all alike.
std::uint64_t fingerprint(const std::vector<DailyBar>& bars) {
  if (static_cast<int>(bars.size()) < kAlikeRows) return 0;
  std::uint64_t hash = 1469598103934665603ULL;
  const auto mix = [&hash](std::uint64_t value) { hash = (hash ^ value) * 1099511628211ULL; };
  bool varied = false;
  for (auto bar = bars.end() - kAlikeRows; bar != bars.end(); ++bar) {
    varied = varied || bar->volume != bars.back().volume;
    mix(static_cast<std::uint64_t>(bar->day.days));
    mix(static_cast<std::uint64_t>(bar->close.micros));
    mix(static_cast<std::uint64_t>(bar->volume));
  }
  return varied ? hash : 0;
}

class Surveyor {
 public:
  explicit Surveyor(const SurveyInput& input) : input_(input) {}

  Survey run(const std::vector<std::string>& files) {
    out_.files = files.size();
    std::vector<std::thread> others;
    const int threads = std::min<int>(input_.threads, static_cast<int>(files.size()));
    for (int i = 1; i < threads; ++i) others.emplace_back([&] { work(files, false); });
    work(files, true);
    for (std::thread& other : others) other.join();
    find_alike();
    std::sort(out_.rows.begin(), out_.rows.end(),
              [](const SurveyRow& a, const SurveyRow& b) { return a.symbol < b.symbol; });
    for (const SurveyRow& row : out_.rows) {
      out_.doubtful += row.findings.empty() ? 0 : 1;
      out_.unreadable += row.rows == 0 ? 1 : 0;
    }
    return std::move(out_);
  }

 private:
  void work(const std::vector<std::string>& files, bool tells) {
    for (std::size_t i = next_++; i < files.size(); i = next_++) {
      if (tells && input_.on_progress) input_.on_progress(i, files.size());
      auto all = read_all_daily(files[i], DailyRows::readable, input_.last_session);
      if (!all) {
        SurveyRow row;
        row.symbol = symbol_of_file(files[i]);
        row.file = files[i];
        row.problem = all.error().text;
        const std::lock_guard lock(mutex_);
        out_.rows.push_back(std::move(row));
        continue;
      }
      for (DailySeries& series : *all) {
        if (input_.symbols.empty() || input_.symbols.contains(series.symbol)) look_at(series, files[i]);
      }
    }
  }

  void look_at(DailySeries& series, const std::string& file) {
    SurveyRow row;
    row.symbol = series.symbol;
    row.file = file;
    row.rows = static_cast<int>(series.bars.size());
    row.own = static_cast<int>(series.own.size());
    row.problem = series.first_problem;
    if (row.rows > 0) row.first = series.bars.front().day, row.last = series.bars.back().day;
    const std::uint64_t print = fingerprint(series.bars);
    adjust_history(series.bars, events_of(series, input_.events), 0);
    row.findings = find_faults(series, {input_.checks, input_.sessions, input_.last_session});
    if (auto closed = rows_of_closed_days(series, input_.sessions)) row.findings.push_back(std::move(*closed));
    const std::lock_guard lock(mutex_);
    for (const std::string& choice : series.choices) ++out_.choices[choice];
    out_.bars += series.bars.size();
    if (print != 0) prints_.emplace(print, out_.rows.size());
    out_.rows.push_back(std::move(row));
  }

  /// Which of them is right nobody can tell from the files.
  void find_alike() {
    for (auto at = prints_.begin(); at != prints_.end();) {
      const auto end = prints_.equal_range(at->first).second;
      std::vector<std::size_t> alike;
      for (; at != end; ++at) alike.push_back(at->second);
      if (alike.size() < 2) continue;
      std::sort(alike.begin(), alike.end(),
                [&](std::size_t a, std::size_t b) { return out_.rows[a].symbol < out_.rows[b].symbol; });
      for (const std::size_t one : alike) {
        const std::size_t other = one == alike.front() ? alike[1] : alike.front();
        out_.rows[one].findings.push_back({BarFault::other, out_.rows[one].last, kAlikeRows,
                                           "its newest rows are those of " + out_.rows[other].symbol + " too"});
      }
    }
  }

  const SurveyInput& input_;
  std::atomic<std::size_t> next_{0};
  std::mutex mutex_;  // guards what follows
  Survey out_;
  std::unordered_multimap<std::uint64_t, std::size_t> prints_;
};

}  // namespace

Result<Survey> survey(const SurveyInput& input) {
  auto files = daily_files(input.daily);
  if (!files) return tl::unexpected(files.error());
  const bool folder = files->size() != 1 || files->front() != input.daily;
  if (folder && !input.symbols.empty())
    std::erase_if(*files, [&](const std::string& file) { return !input.symbols.contains(symbol_of_file(file)); });
  const std::string others = passed_over(input.daily);
  if (files->empty())
    return fail(others.empty() ? input.daily + ": found no files of daily bars (SYMBOL.csv, .csv.gz, .csv.zst, .zip)"
                               : others);
  Survey found = Surveyor(input).run(*files);
  found.passed_over = others;
  return found;
}

}  // namespace brimwatch
