#pragma once
// One feed's health: each fault is recognised, counted, and reported once. Pure: the time is an argument, events
// come out through a vector.
//
//   silent   in session nothing came for longer than silent_after, and than is usual for this feed; or it is down so
//   long;
//            or a feed of the same trades goes on without it
//   late     a run of ticks is older than late_after
//   back     data again after a silence, with the hole from the last data to the first new data
//   symbol   one busy symbol has gone quiet while the rest goes on; when it comes back, it has a hole of its own
//
// A source of delayed data has none of the session's before its delay is over: so long nothing is expected of it, once
// the delay is known.
//
// Only ticks are data: a source whose heartbeats go on while its trades stop is silent, and was blind since its last
// tick.
//   clock    our wall clock jumped, or all of the feed's times lie in our future
#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feed.h"
#include "adapters/feeds/instant.h"
#include "adapters/feeds/past_days.h"
#include "adapters/feeds/rate.h"
#include "adapters/feeds/screen.h"

namespace brimwatch {

struct FeedEvent {
  enum class Kind : std::uint8_t {
    silent,         ///< -> feed-silent
    back,           ///< -> feed-back; from, to: the hole
    late,           ///< -> feed-late
    on_time,        ///< -> feed-back: no longer late
    symbol_silent,  ///< -> feed-silent, about one symbol
    symbol_back,    ///< -> feed-back, about one symbol
    clock,          ///< -> self-check
    remark,         ///< -> self-check: what the user has to fix in the configuration
    hole,           ///< for the journal: blind from..to; the tick stream carries a hole tick in its place
    flapping,       ///< -> self-check: the connection breaks again and again; told once
    unheard,        ///< -> self-check: symbols of which nothing has come though they should have traded; told once
    changed,        ///< for the log: another feed speaks now, or this one holds again
    reconnect,      ///< internal: the feed's owner should stop and start it
  } kind;
  std::size_t feed = 0;
  SymbolId symbol = kNoSymbol;
  Timestamp from, to;
  std::string text;  ///< what is wrong and what happens next, one line
};

struct HealthLimits {
  Nanos silent_after = 15 * kSecond;
  Nanos late_after = 60 * kSecond;
  bool can_reconnect = true;
  bool asks_again = false;  ///< a polled source: each answer shows its last trades once more
};

/// A symbol that is asked for, and how much of it trades in a usual second of the session.
struct ExpectedSymbol {
  SymbolId symbol = kNoSymbol;
  std::string name;
  double shares_per_second = 0;
};

struct HealthCounts {
  ScreenCounts screen;
  std::uint64_t past_days = 0;  ///< ticks left out because their day is over
  std::uint64_t silences = 0, late_runs = 0, holes = 0, clock_steps = 0, symbol_silences = 0, breaks = 0, unheard = 0;
};

class HealthMonitor {
 public:
  HealthMonitor(std::size_t feed, HealthLimits limits, PastDayOf past_day_of = {})
      : feed_(feed), limits_(limits), past_(std::move(past_day_of)), screen_(limits.asks_again) {}
  /// Its number among the feeds has changed.
  void renumber(std::size_t feed) { feed_ = feed; }

  /// What may go on is appended to `clean`, after a hole tick where there is a hole.
  void on_ticks(std::span<const Tick> ticks, Instant now, std::vector<Tick>& clean, std::vector<FeedEvent>& events);
  /// Any sign of life: a frame, of whatever content.
  void on_life(Instant now) { last_life_ = now; }
  void on_state(FeedState state, std::string_view text, Instant now);
  /// The source refused something and stays connected: a silence that follows may come of it.
  void on_refusal(std::string_view text) { refusal_ = text; }
  /// Something came that could not be read: a silence may be one of reading.
  void on_unreadable(std::string_view text) { unreadable_ = text; }
  /// Which symbols should be heard from now on, in place of those before. On a `new_day` all are waited for anew; else
  /// one that was expected already goes on being waited for, and is not told twice.
  void expect(const std::vector<ExpectedSymbol>& symbols, bool new_day, Instant now);
  /// Another feed of the same trades went on without it: it is silent however rarely it trades. `why`, one line.
  void find_stopped(Instant now, const std::string& why, std::vector<FeedEvent>& events);
  /// At least four times a second. `in_session`: a session of the watched exchange is open now, lunch not counted.
  void on_time(Instant now, bool in_session, std::vector<FeedEvent>& events);

  /// Ticks can be expected of it now: it is up, has given data, and is not silent.
  [[nodiscard]] bool carries() const { return state_ == FeedState::up && has_data_ && !silent_told_; }
  [[nodiscard]] bool is_late() const { return late_told_; }
  [[nodiscard]] bool is_in_session() const { return in_session_; }
  [[nodiscard]] HealthCounts counts() const;

  /// For how long a feed that is up can be silent before it is told, however rarely it gives data: whoever stands by must
  /// keep what it hears for longer.
  [[nodiscard]] static constexpr Nanos longest_silence(Nanos silent_after) {
    return std::max(kSilenceMost, silent_after) + kLookEvery;
  }

 private:
  static constexpr Nanos kSilenceMost = 600 * kSecond;  ///< however rarely it trades: longer than this is told
  static constexpr Nanos kLookEvery = kSecond;
  struct Symbol {
    Rate rate;
    bool told = false, halted = false;
    Timestamp heard;     ///< exchange time of its latest trade
    bool known = false;  ///< anything at all has come of it
  };
  struct Run {
    int length = 0;
    Nanos since = 0;
    void add(Nanos steady) {
      if (length++ == 0) since = steady;
    }
    [[nodiscard]] bool holds(Nanos steady) const;
  };

  void emit(std::vector<FeedEvent>& events, FeedEvent::Kind kind, std::string text, SymbolId symbol = kNoSymbol) const;
  void tell_past_days(std::vector<FeedEvent>& events);
  void end_blindness(const Tick& first, Instant now, std::vector<Tick>& clean, std::vector<FeedEvent>& events);
  void note_age(const Tick& tick, Instant now, std::vector<FeedEvent>& events);
  void note_symbol(const Tick& tick, Instant now, std::vector<Tick>& clean, std::vector<FeedEvent>& events);
  void end_silence_of(const Tick& first, Symbol& symbol, Instant now, std::vector<Tick>& clean,
                      std::vector<FeedEvent>& events);
  void put_hole(const Tick& first, SymbolId symbol, Timestamp from, std::vector<Tick>& clean);
  [[nodiscard]] bool is_silent(Instant now) const;
  /// Steady time from which its data can be expected: of a session, of this connection.
  [[nodiscard]] Nanos expected_from() const { return std::max(session_since_ + delay_, state_since_); }
  /// The same for the feed as a whole: a connection that broke before it brought anything began no new wait.
  [[nodiscard]] Nanos waited_from() const { return std::max(session_since_ + delay_, waiting_since_); }
  void note_delay();
  void note_rate(Nanos steady);
  void skip_pause(Rate& rate, Nanos steady) const;
  [[nodiscard]] bool is_known(SymbolId symbol) const { return symbol < symbols_.size() && symbols_[symbol].known; }
  void look_at_breaks(Instant now, std::vector<FeedEvent>& events);
  void look_for_unheard(Instant now, std::vector<FeedEvent>& events);
  void look_for_silence(Instant now, std::vector<FeedEvent>& events);
  void begin_silence(Nanos since, Nanos steady);
  void look_at_symbols(Instant now, std::vector<FeedEvent>& events);
  void look_at_clock(Instant now, std::vector<FeedEvent>& events);

  std::size_t feed_;
  HealthLimits limits_;
  PastDays past_;
  TickScreen screen_;
  HealthCounts counts_;

  FeedState state_ = FeedState::stopped;
  std::string state_text_;
  std::string refusal_;     ///< what the source last said no with, since data came
  std::string unreadable_;  ///< what could not be read last, since data came
  Nanos state_since_ = 0, waiting_since_ = 0;
  bool brought_data_ = true;  ///< since waiting_since_
  Instant last_life_;

  Rate rate_;
  bool has_data_ = false;
  Timestamp last_tick_;  ///< latest exchange time
  Nanos lag_ = 0;        ///< of the last tick: received - time
  bool silent_told_ = false;
  Nanos silent_since_ = 0, back_since_ = 0;
  Nanos next_reconnect_ = 0, reconnect_wait_ = 0;
  Timestamp blind_from_;  ///< exchange time; set while the feed cannot see

  Run late_run_, fresh_run_;
  bool late_told_ = false;
  Nanos delay_ = 0;  ///< usual lag of a source whose data are late
  bool future_told_ = false;

  bool in_session_ = false;
  Nanos session_since_ = 0;
  Nanos next_look_ = 0;
  std::vector<Symbol> symbols_;  ///< by id
  std::vector<Nanos> breaks_;    ///< of the connection, lately
  bool flapping_told_ = false;
  struct Expected {
    ExpectedSymbol what;
    Nanos since = 0;
    bool told = false;
  };
  std::vector<Expected> expected_;  ///< by symbol
  Nanos next_unheard_look_ = 0;
  Nanos clock_offset_ = 0, clock_told_ = 0;
  std::uint64_t clock_untold_ = 0;
  bool clock_known_ = false;
};

}  // namespace brimwatch
