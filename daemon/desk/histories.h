#pragma once
// The daily bars behind the normal volumes, and the learned curves: read once, at the start and at a reload, so that the
// engine's thread never waits for a disk.
#include <deque>
#include <map>
#include <memory>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "core/daily.h"
#include "core/result.h"
#include "session/calendar.h"
#include "volume/history.h"
#include "volume/learning.h"
#include "volume/own_lift.h"
#include "weekend/events.h"

namespace brimwatch {

/// A normal volume is the mean of the last fifty sessions: bars that lack more than these say nothing of it.
constexpr int kOldestSessions = 50;
/// A trading week: bars that lack more are told of with each crossing.
constexpr int kFreshSessions = 5;

/// Sessions that are missing between the last bar before `day` and `day`; none without a bar.
[[nodiscard]] int sessions_missing(const std::vector<DailyBar>& bars, Date day, const Calendar& calendar);

/// A stock's daily bars from their file, splits taken out: in terms of the last bar. `events` and the file itself tell of
/// splits. Any row that cannot be read is an error.
[[nodiscard]] Result<std::vector<DailyBar>> read_history(const std::string& path, const PriceEvents& events);

class Histories {
 public:
  /// Any thread. `directory` may be empty: then there is no history. `learned` is the state file of `brimwatch learn`; a
  /// missing one is fine, a damaged one is a problem. Files that cannot be read are kept as problems and count as
  /// missing.
  void load(const std::string& directory, const std::string& learned, const std::deque<std::string>& symbols,
            const PriceEvents& events = {});
  /// Puts what another one has loaded in the place of what is here; but what this one has learned of newer days than the
  /// file knows stays.
  void take(Histories&& loaded);

  /// In terms of the last bar.
  [[nodiscard]] const std::vector<DailyBar>& daily(std::string_view symbol) const;
  /// In terms of `day`: a split between the last bar and that day is in. Empty when the bars are too old to judge by.
  [[nodiscard]] std::vector<DailyBar> daily_for(std::string_view symbol, Date day, const Calendar& calendar) const;
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

  void load_daily(const std::string& directory, const std::deque<std::string>& symbols, const PriceEvents& events);
  void load_learned(const std::string& path);
  void learn_ratios();

  ByName<std::vector<DailyBar>> daily_;
  PriceEvents to_come_;  ///< splits after the last bar
  FeedDays feed_days_;
  ByName<std::shared_ptr<const Learned>> learned_;
  OwnLifts own_lifts_;
  std::vector<std::string> problems_;
};

}  // namespace brimwatch
