#pragma once
// One round of fetching: what is wanted of each symbol, asked of the sources, put into the files; then splits and report
// dates. What reads or writes files runs where the world says; everything else on the loop's thread.
#include <boost/asio/io_context.hpp>
#include <deque>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/sources/fetcher.h"
#include "config/settings.h"
#include "history/events_update.h"
#include "history/update.h"

namespace brimwatch {

struct HistoryRoundResult {
  std::vector<SymbolUpdate> failed, split;  ///< of failed the first hundred; those whose past was restated by a ratio
  std::size_t symbols = 0, asked = 0, changed = 0, failures = 0;
  std::vector<std::string> event_words;     ///< of splits and report dates: what was added
  std::vector<std::string> splits_failed;   ///< why a source or its file of splits gave none
  std::vector<std::string> reports_failed;  ///< the same of report dates
  HistoryFetcher::Counts counts;

  [[nodiscard]] bool whole() const { return failures == 0 && splits_failed.empty() && reports_failed.empty(); }
};

class HistoryRound {
 public:
  struct World {
    boost::asio::io_context& io;
    std::function<Timestamp()> wall;
    /// Runs `job` where it may block, then `then` on the loop's thread.
    std::function<void(std::function<void()> job, std::function<void()> then)> aside;
  };
  struct Wish {
    std::vector<std::string> symbols;  ///< empty: all of the watches, and the index
    Date last_session;
    bool only_missing = false;
  };
  using OnUpdate = std::function<void(const SymbolUpdate&)>;
  using OnEnd = std::function<void(const HistoryRoundResult&)>;

  HistoryRound(World world, std::shared_ptr<const Settings> settings);

  /// Once. `on_end` is called last, and not from within this.
  void start(Wish wish, OnUpdate on_update, OnEnd on_end);

 private:
  void plan();
  void fetch(const std::vector<DaysWanted>& wanted);
  void on_pages(const HistoryWish& wish, Result<HistoryPages> pages);
  void take(std::vector<SymbolUpdate> updates);
  void finish_days();
  void fetch_events(EventsKind kind);
  void on_events(EventsKind kind, const HistoryWish& wish, Result<HistoryPages> pages);
  void note_events(EventsKind kind, const std::string& symbol, const Result<EventsTaken>& taken);
  std::vector<std::string>& failures_of(EventsKind kind);
  void run_aside(std::function<void()> job, std::function<void()> then);
  void next_job();

  struct Job {
    std::function<void()> work, then;
  };
  World world_;
  std::shared_ptr<const Settings> settings_;
  Wish wish_;
  OnUpdate on_update_;
  OnEnd on_end_;
  std::unique_ptr<HistoryFetcher> fetcher_;
  std::vector<DaysWanted> again_;
  std::deque<Job> jobs_;
  bool job_in_hand_ = false;
  std::size_t open_ = 0;  ///< wishes whose answer has not been put away
  HistoryRoundResult result_;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);
};

/// Whether anything could be fetched: a source of days and a folder for them.
[[nodiscard]] bool has_history_source(const Settings& settings);

/// "12 symbols: 3 updated, 8 as they were, 1 failed; 20 requests": for a log or a person.
[[nodiscard]] std::string in_words(const HistoryRoundResult& result);

/// "daily bars of 2 of 40 symbols could not be fetched (KLVN, ORRJ: ...): ...; splits could not be fetched, ... (...)":
/// what failed, and what is then not judged or not told; short enough for the morning's line, which is cut at 600
/// characters. Empty where all could. `index`: the symbol of [market] index.
[[nodiscard]] std::string failures_in_words(const HistoryRoundResult& result, const std::string& index);

}  // namespace brimwatch
