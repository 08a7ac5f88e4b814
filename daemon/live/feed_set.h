#pragma once
// The feeds of the daemon: made, started, subscribed, watched; a stand-by takes over where a primary is silent. Their
// ticks come out as one stream.
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/feed.h"
#include "adapters/feeds/merge.h"
#include "config/settings.h"
#include "core/log_sink.h"
#include "core/result.h"
#include "core/snapshot.h"

namespace brimwatch {

class FeedSet {
 public:
  struct World {
    std::function<Timestamp()> wall;
    std::function<Nanos()> steady;
    LogSink log;
    std::function<Result<std::unique_ptr<Feed>>(const FeedSettings&)> make;
    PastDayOf past_day{};  ///< may be empty: then nothing is of a past day
  };
  struct Events {
    /// What the engine takes: screened, of one feed at a time, with hole ticks where nobody saw.
    std::function<void(std::span<const Tick>)> ticks;
    std::function<void(const FeedEvent&)> event;
    std::function<void(std::size_t feed, Timestamp, FeedState, std::string_view)> state;
    std::function<void(std::size_t feed, Timestamp, std::string_view)> frame;
    std::function<void(std::size_t feed, std::string_view)> refusal;  ///< the source said no to something
  };

  FeedSet(World world, Events events);
  ~FeedSet();
  FeedSet(const FeedSet&) = delete;
  FeedSet& operator=(const FeedSet&) = delete;

  struct Line;
  using Lines = std::vector<std::unique_ptr<Line>>;
  class Made {  ///< feeds that are not in force yet
   public:
    Made();
    ~Made();
    Made(Made&&) noexcept;
    Made& operator=(Made&&) noexcept;

   private:
    friend FeedSet;
    Lines lines_;
  };
  /// Those of `feeds` that are not here yet, made and not started. With one that cannot be made there are none, and
  /// nothing has changed.
  [[nodiscard]] Result<Made> make(const std::vector<FeedSettings>& feeds);
  /// Feeds whose settings stay only get a new subscription; others are stopped, and those `made` for this
  /// list are started in their places.
  void set(const std::vector<FeedSettings>& feeds, const std::vector<std::string>& symbols, Made made);
  void stop();
  /// Which symbols should be heard, and how much of them: what is not is told.
  void expect(const std::vector<ExpectedSymbol>& symbols, bool new_day);
  /// At every heartbeat. `in_session`: the exchange trades now.
  void on_time(bool in_session);

  [[nodiscard]] std::vector<FeedRow> rows() const;
  [[nodiscard]] std::size_t size() const { return lines_.size(); }
  [[nodiscard]] const FeedSettings& settings(std::size_t feed) const;

 private:
  [[nodiscard]] Instant now() const { return {world_.wall(), world_.steady()}; }
  static std::unique_ptr<Line> take(Lines& lines, const FeedSettings& settings);
  void stop_others_than(const std::vector<FeedSettings>& feeds);
  void hand_on();
  void restart(std::size_t feed);

  World world_;
  Events events_;
  Lines lines_;
  std::unique_ptr<FeedMerge> merge_;
  std::vector<FeedSettings> merged_settings_;
  Merged merged_;
};

}  // namespace brimwatch
