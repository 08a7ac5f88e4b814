#pragma once
// A source of quotes, outside the daemon, and the daemon's connection to it. The source has the truth and passes it on
// badly: it stalls, hangs up, refuses, loses, repeats, reorders, delays, and lies.
#include <memory>
#include <string>
#include <vector>

#include "adapters/feed.h"
#include "core/symbols.h"
#include "market.h"
#include "virtual_time.h"

namespace brimwatch::simulation {

class SourceFeed;

class Source {
 public:
  Source(std::string name, VirtualTime& time, Market& market, std::uint64_t seed, Tally& tally);

  [[nodiscard]] const std::string& name() const { return name_; }
  /// The truth of a day; with `faults` false it passes all of it on, at once and once.
  void begin_day(const Session& session, std::vector<Tick> ticks, bool faults);
  [[nodiscard]] bool is_heard() const { return feed_ != nullptr; }
  /// Hangs up, and takes no connection for so long.
  void go_down(Nanos span);
  void end_faults();
  /// The whole of the last day once more, as some sources greet whoever is connected at night.
  void send_day_again();
  /// All of it comes so much later than it happens: a source of delayed data.
  void set_behind(Nanos span) { behind_ = span; }

  /// Since when nothing comes from it though it should; not set: it gives. For "a silent feed is told".
  [[nodiscard]] Timestamp dumb_since() const { return dumb_since_; }

 private:
  friend class SourceFeed;
  void on_connect(SourceFeed& feed);
  void on_disconnect(SourceFeed& feed) {
    if (feed_ == &feed) feed_ = nullptr;
  }
  [[nodiscard]] bool takes_connections() const { return time_.truth() >= down_until_; }

  void deliver();
  [[nodiscard]] Timestamp due(const Tick& tick) const { return tick.time + latency_ + delay_ + behind_; }
  void schedule();
  void next_fault();
  void inject();
  void spoil(const Tick& tick, std::vector<Tick>& out);
  void hand(std::vector<Tick> ticks);
  void resend();

  std::string name_;
  VirtualTime& time_;
  Market& market_;
  Dice dice_;
  Tally& tally_;
  SourceFeed* feed_ = nullptr;

  std::vector<Tick> day_;
  std::size_t at_ = 0;
  Session session_;
  bool faults_ = false;
  std::uint64_t generation_ = 0;  ///< of the day: an event of an earlier one does nothing
  Nanos latency_ = 40'000'000, delay_ = 0, behind_ = 0;
  Timestamp delay_until_, stall_until_, down_until_, lost_until_, dumb_since_;
  bool stall_keeps_ = false;
  SymbolId lost_symbol_ = kNoSymbol;
  std::vector<Tick> held_, recent_;
};

/// The daemon's side: connects, and connects again.
class SourceFeed final : public Feed {
 public:
  SourceFeed(Source& source, VirtualTime& time, SymbolTable& symbols, std::function<Timestamp()> wall);
  ~SourceFeed() override;

  void start(FeedListener& listener) override;
  void stop() override;
  void subscribe(const std::vector<std::string>& symbols) override;
  [[nodiscard]] FeedHealth health() const override { return health_; }

  void take(const std::vector<Tick>& ticks);
  void hang_up(const std::string& why);
  [[nodiscard]] bool is_up() const { return health_.state == FeedState::up; }

 private:
  void connect_after(Nanos span);
  void set_state(FeedState state, const std::string& why);

  Source& source_;
  VirtualTime& time_;
  SymbolTable& symbols_;
  std::function<Timestamp()> wall_;
  FeedListener* listener_ = nullptr;
  FeedHealth health_;
  std::vector<SymbolId> ids_;  ///< by index into the market's names
  int failures_ = 0;
  std::shared_ptr<int> life_ = std::make_shared<int>(0);  ///< counts starts; gone with the feed
};

}  // namespace brimwatch::simulation
