#include "replay/replay_apart.h"

#include <algorithm>
#include <condition_variable>
#include <iterator>
#include <mutex>
#include <set>
#include <thread>

#include "loop/clock.h"

namespace brimwatch {
namespace {

/// What one tape comes to.
struct Day : ReplayListener {
  std::vector<NoticeRecord> notices;
  Timestamp last;
  std::optional<Result<ReplaySummary>> summary;  ///< set when it is done

  void on_notice(const NoticeRecord& record) override { notices.push_back(record); }
  void on_progress(std::uint64_t, Timestamp at, double) override { last = at; }
};

class Days {
 public:
  Days(const Settings& settings, const ReplayOptions& options) : settings_(settings), options_(options) {
    days_.resize(options.tapes.size());
  }

  Result<ReplaySummary> run(std::size_t jobs, ReplayListener& listener) {
    const Nanos started = steady_now();
    std::vector<std::jthread> threads;
    for (std::size_t i = 0; i < std::min(jobs, days_.size()); ++i) threads.emplace_back([this] { work(); });
    ReplaySummary all;
    for (std::size_t i = 0; i < days_.size(); ++i) {
      Day day = wait_for(i);
      for (const NoticeRecord& record : day.notices) listener.on_notice(record);
      if (!*day.summary) {
        give_up();
        return tl::unexpected<Error>(day.summary->error());
      }
      add(std::move(**day.summary), all);
      listener.on_progress(all.ticks, day.last, static_cast<double>(i + 1) / static_cast<double>(days_.size()));
    }
    all.seconds = static_cast<double>(steady_now() - started) / 1e9;
    if (all_unwatched_) all.unwatched.assign(unwatched_.begin(), unwatched_.end());
    return all;
  }

 private:
  /// A thread's life: takes the next tape as long as there is one.
  void work() {
    for (;;) {
      std::size_t mine = 0;
      {
        const std::lock_guard lock(mutex_);
        if (next_ >= days_.size()) return;
        mine = next_++;
      }
      Day day;
      day.summary = play(mine, day);
      {
        const std::lock_guard lock(mutex_);
        days_[mine] = std::move(day);
      }
      done_.notify_one();
    }
  }

  Result<ReplaySummary> play(std::size_t which, Day& day) {
    auto desk = Desk::open(settings_);
    if (!desk) return fail(desk.error().text);
    ReplayOptions alone = options_;
    alone.tapes = {options_.tapes[which]};
    alone.read_ahead = false;  // the cores are taken by the other days
    auto summary = replay(**desk, alone, day);
    if (summary && which == 0) {  // they are the same for all
      const auto& problems = (*desk)->problems();
      summary->remarks.insert(summary->remarks.begin(), problems.begin(), problems.end());
    }
    return summary;
  }

  Day wait_for(std::size_t which) {
    std::unique_lock lock(mutex_);
    done_.wait(lock, [&] { return days_[which].summary.has_value(); });
    return std::exchange(days_[which], {});
  }

  /// Tapes that nobody has begun are left alone.
  void give_up() {
    const std::lock_guard lock(mutex_);
    next_ = days_.size();
  }

  void add(ReplaySummary&& one, ReplaySummary& all) {
    all.ticks += one.ticks;
    all.rows += one.rows;
    all.malformed += one.malformed;
    all.notices += one.notices;
    all.counters += one.counters;
    std::move(one.remarks.begin(), one.remarks.end(), std::back_inserter(all.remarks));
    unwatched_.insert(one.unwatched.begin(), one.unwatched.end());
    all_unwatched_ = all_unwatched_ && !one.unwatched.empty();
  }

  const Settings& settings_;
  const ReplayOptions& options_;
  std::mutex mutex_;
  std::condition_variable done_;
  std::vector<Day> days_;
  std::size_t next_ = 0;  ///< tape that is to be begun

  std::set<std::string> unwatched_;  ///< of tapes of which nobody watches a symbol
  bool all_unwatched_ = true;        ///< there were no other tapes
};

}  // namespace

Result<ReplaySummary> replay_apart(const Settings& settings, const ReplayOptions& options, std::size_t jobs,
                                   ReplayListener& listener) {
  return Days(settings, options).run(jobs, listener);
}

}  // namespace brimwatch
