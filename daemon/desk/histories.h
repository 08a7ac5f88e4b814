#pragma once
// The daily bars behind the normal volumes, and the learned curves: read once, at the start and at a reload, so that the
// engine's thread never waits for a disk.
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <span>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "bars/faults.h"
#include "core/daily.h"
#include "core/result.h"
#include "session/calendar.h"
#include "volume/history.h"
#include "volume/learning/learning.h"
#include "volume/learning/own_lift.h"
#include "weekend/events.h"

namespace brimwatch {

/// A normal volume is the mean of the last fifty sessions: bars that lack more than these say nothing of it.
constexpr int kOldestSessions = 50;
/// A trading week: bars that lack more are told of with each crossing.
constexpr int kFreshSessions = 5;

/// Sessions that are missing between the last bar before `day` and `day`; none without a bar.
[[nodiscard]] int sessions_missing(const std::vector<DailyBar>& bars, Date day, const Calendar& calendar);

/// By what daily bars are trusted. Sessions are those of the symbol's exchange; without them none can be missing.
struct BarTrust {
  BarChecks checks;
  std::function<std::span<const Date>(const std::string& symbol)> sessions_of;  ///< may be empty
};

/// A stock's daily bars, splits and untrusted rows taken out: in terms of the last bar.
struct StockHistory {
  std::vector<DailyBar> bars;
  TrustedBars found;      ///< of the newest rows, those that a normal volume or a trend rests on
  std::vector<Date> own;  ///< days that the daemon heard itself, ascending
};

/// Newest rows whose faults matter: to a normal volume, and to the trend of an index.
constexpr int kVolumeRows = 60, kTrendRows = 200;

/// What was read of a file, made ready. `events` and the file itself tell of splits.
[[nodiscard]] Result<StockHistory> make_history(Result<DailySeries> series, const PriceEvents& events,
                                                const BarTrust& trust, int rows);

/// The same of one file. Any row that cannot be read is an error.
[[nodiscard]] Result<StockHistory> read_history(const std::string& path, const PriceEvents& events,
                                                const BarTrust& trust = {}, int rows = kVolumeRows);

class Histories {
 public:
  /// Any thread. `daily`, a folder or one file, may be empty: then there is no history. `learned` is the state file of
  /// `brimwatch learn`; a missing one is fine, a damaged one is a problem. Files that cannot be read are kept as problems
  /// and count as missing.
  /// `heard`: folder of the days that the daemon heard itself, which count where `daily` lacks them; may be empty.
  void load(const std::string& daily, const std::string& learned, const std::deque<std::string>& symbols,
            const PriceEvents& events = {}, const BarTrust& trust = {}, const std::string& heard = {});
  /// Puts what another one has loaded in the place of what is here; but what this one has learned of newer days than the
  /// file knows stays.
  void take(Histories&& loaded);

  /// In terms of the last bar.
  [[nodiscard]] const std::vector<DailyBar>& daily(std::string_view symbol) const;
  /// In terms of `day`: a split between the last bar and that day is in. Empty when the bars are too old to judge by.
  [[nodiscard]] std::vector<DailyBar> daily_for(std::string_view symbol, Date day, const Calendar& calendar) const;
  /// What is doubtful in the bars that are used, a phrase for a person; empty: nothing.
  [[nodiscard]] const std::string& doubts(std::string_view symbol) const;
  /// Days in its bars that the daemon heard itself.
  [[nodiscard]] const std::vector<Date>& own_days(std::string_view symbol) const;
  /// The day's volume by an official bar; 0: there is none, or only one that was heard.
  [[nodiscard]] double official_volume(std::string_view symbol, Date day) const;
  /// nullptr: nothing. What is given out never changes; the next lesson makes another.
  [[nodiscard]] std::shared_ptr<const Learned> learned(std::string_view symbol) const;
  [[nodiscard]] const std::vector<std::string>& problems() const { return problems_; }
  [[nodiscard]] std::map<std::string, Learned, std::less<>> all_learned() const;
  /// What the user's own crossings taught, month by month; of the file beside that of the learned curves.
  [[nodiscard]] const OwnLifts& own_lifts() const { return own_lifts_; }
  void put_own_lifts(OwnLifts lifts) { own_lifts_ = std::move(lifts); }
  /// The days as the feed carried them, from the journal at the start: the feed's part of the tape follows from them and
  /// the official daily bars, which come later than the evening, and again at every load. What an older journal taught
  /// stays where this one has nothing to say.
  using FeedDays = std::map<std::string, std::vector<FeedDay>, std::less<>>;
  void take_feed_days(FeedDays days);
  /// One more, in the evening.
  void add_feed_day(const std::string& symbol, const FeedDay& day);

  /// The curve of a symbol that nothing was learned of: the default, without the closing auction where the symbols that
  /// are known say that the feed carries none.
  [[nodiscard]] const Curve& usual_curve() const;

  /// Takes over what an evening has taught, for the next plan; the plans that are keep what they were made with.
  void put_learned(std::string_view symbol, Learned learned);

 private:
  struct Hash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>()(text); }
  };
  template <typename Value>
  using ByName = std::unordered_map<std::string, Value, Hash, std::equal_to<>>;

  void load_daily(const std::string& daily, const std::deque<std::string>& symbols, const PriceEvents& events,
                  const BarTrust& trust, const std::string& heard);
  void tell_doubts(const std::string& file, const TrustedBars& found);
  void load_learned(const std::string& path);
  void learn_ratios();

  ByName<std::vector<DailyBar>> daily_;
  ByName<std::string> doubts_;
  ByName<std::vector<Date>> own_;
  std::size_t doubtful_ = 0;  ///< files told of so far
  PriceEvents to_come_;       ///< splits after the last bar
  FeedDays feed_days_;
  ByName<std::shared_ptr<const Learned>> learned_;
  OwnLifts own_lifts_;
  std::vector<std::string> problems_;
};

}  // namespace brimwatch
