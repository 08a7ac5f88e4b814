#include "adapters/feeds/health.h"

#include <algorithm>
#include <cstdlib>
#include <utility>

#include "adapters/feeds/hole_least.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr int kRunLength = 5;            // one late report is not a late feed
constexpr Nanos kRunSpan = 5 * kSecond;  // nor is a burst of old trades after a reconnect
constexpr Nanos kFirstData = 60 * kSecond;
constexpr Nanos kSymbolSilence = 60 * kSecond;
constexpr int kBusy = 50;  // trades before a symbol's usual rate means anything
constexpr Nanos kClockStep = kSecond;
constexpr Nanos kClockToldEvery = kHour;  // a clock that jumps all the time is told with a count
constexpr std::size_t kFlapping = 5;      // breaks within the span below
constexpr Nanos kFlappingSpan = 600 * kSecond, kFlappingPatience = 120 * kSecond;
constexpr Nanos kUnheardAfter = 300 * kSecond, kUnheardLook = 60 * kSecond;
constexpr double kUnheardShares = 20'000;  // of usual volume without one trade: some hundred usual trades
constexpr std::size_t kNamedMost = 10, kBreaksKept = 1000;
constexpr Nanos kReconnectFirst = 60 * kSecond, kReconnectMost = 600 * kSecond;

}  // namespace

bool HealthMonitor::Run::holds(Nanos steady) const { return length >= kRunLength && steady - since >= kRunSpan; }

void HealthMonitor::emit(std::vector<FeedEvent>& events, FeedEvent::Kind kind, std::string text, SymbolId symbol) const {
  FeedEvent event{kind, feed_, symbol, {}, {}, std::move(text)};
  events.push_back(std::move(event));
}

HealthCounts HealthMonitor::counts() const {
  HealthCounts out = counts_;
  out.screen = screen_.counts();
  out.past_days = past_.count();
  return out;
}

// ---- ticks

void HealthMonitor::on_ticks(std::span<const Tick> ticks, Instant now, std::vector<Tick>& clean,
                             std::vector<FeedEvent>& events) {
  last_life_ = now;
  for (const Tick& tick : ticks) {
    if (past_.leaves_out(tick, now)) continue;
    if (!screen_.pass(tick, now)) continue;
    if (tick.kind == TickKind::hole) {
      ++counts_.holes;
      FeedEvent event{FeedEvent::Kind::hole, feed_,
                      tick.symbol,           tick.time,
                      tick.received,         "the source's numbering has a gap, or a message could not be read"};
      events.push_back(std::move(event));
    } else {
      if (blind_from_.is_set() || silent_told_) end_blindness(tick, now, clean, events);
      note_age(tick, now, events);
      note_symbol(tick, now, clean, events);
      refusal_.clear();
      unreadable_.clear();
      if (tick.time > last_tick_) last_tick_ = tick.time;
      has_data_ = brought_data_ = true;
      note_rate(now.steady);
    }
    clean.push_back(tick);
    screen_.strike_unheard(clean.back());
  }
  tell_past_days(events);
  if (screen_.doubts_our_clock() && !future_told_) {
    emit(events, FeedEvent::Kind::clock,
         "the feed's times lie more than a minute ahead of this computer's clock, which is probably wrong; set it");
  }
  future_told_ = screen_.doubts_our_clock();
}

void HealthMonitor::tell_past_days(std::vector<FeedEvent>& events) {
  if (std::string news = past_.take_news(); !news.empty()) emit(events, FeedEvent::Kind::changed, std::move(news));
  if (std::string doubt = past_.take_doubt(); !doubt.empty()) emit(events, FeedEvent::Kind::clock, std::move(doubt));
}

/// Of the session alone: nights, lunches and what trades before the open say nothing of how often there is data in it.
void HealthMonitor::note_rate(Nanos steady) {
  if (rate_.events() > 0) {
    rate_.skip_to(in_session_ ? std::min(steady, expected_from()) : steady);
    if (!in_session_) return;
  }
  rate_.on_event(steady);
}

void HealthMonitor::put_hole(const Tick& first, SymbolId symbol, Timestamp from, std::vector<Tick>& clean) {
  ++counts_.holes;
  Tick hole;
  hole.kind = TickKind::hole;
  hole.symbol = symbol;
  hole.time = from;
  hole.received = first.time;
  hole.feed = first.feed;
  clean.push_back(hole);
}

void HealthMonitor::end_blindness(const Tick& first, Instant now, std::vector<Tick>& clean,
                                  std::vector<FeedEvent>& events) {
  const Timestamp from = blind_from_.is_set() ? blind_from_ : last_tick_;
  rate_.skip_to(now.steady);  // a hole says nothing of how often there is data
  const Timestamp to = first.time;
  blind_from_ = {};
  if (from.is_set() && to - from >= kHoleLeast) {
    put_hole(first, kNoSymbol, from, clean);
    FeedEvent event{FeedEvent::Kind::hole, feed_, kNoSymbol, from, to, state_text_};
    events.push_back(std::move(event));
  }
  if (!silent_told_) return;
  silent_told_ = false;
  back_since_ = now.steady;  // none of its symbols was heard meanwhile, and that has been told
  reconnect_wait_ = 0;
  FeedEvent event{
      FeedEvent::Kind::back, feed_, kNoSymbol, from, to, "data again after " + span_text(now.steady - silent_since_)};
  events.push_back(std::move(event));
}

void HealthMonitor::note_age(const Tick& tick, Instant now, std::vector<FeedEvent>& events) {
  if (!tick.received.is_set() || (tick.kind != TickKind::trade && tick.kind != TickKind::quote)) return;
  lag_ = std::max<Nanos>(tick.received - tick.time, 0);
  (lag_ > limits_.late_after ? fresh_run_ : late_run_) = {};
  if (lag_ > limits_.late_after) {
    late_run_.add(now.steady);
  } else if (lag_ <= limits_.late_after / 2) {
    fresh_run_.add(now.steady);
  }
  if (!late_told_ && late_run_.holds(now.steady)) {
    late_told_ = true;
    ++counts_.late_runs;
    emit(events, FeedEvent::Kind::late, "data is " + span_text(lag_) + " old; notices say so as long as it is");
  } else if (late_told_ && fresh_run_.holds(now.steady)) {
    late_told_ = false;
    emit(events, FeedEvent::Kind::on_time, "data is no longer late");
  }
  note_delay();
}

/// Slowly, for single trades are reported hours late. What comes of another day altogether was recorded: its source has
/// no delay that a silence could be explained with.
void HealthMonitor::note_delay() {
  constexpr Nanos kSlowness = 16, kDelayMost = 7200 * kSecond;
  if (!late_told_) delay_ = 0;
  else if (lag_ > kDelayMost) return;
  else if (delay_ == 0) delay_ = lag_;
  else delay_ += (std::min(lag_, 2 * delay_) - delay_) / kSlowness;
}

void HealthMonitor::end_silence_of(const Tick& first, Symbol& symbol, Instant now, std::vector<Tick>& clean,
                                   std::vector<FeedEvent>& events) {
  symbol.told = false;
  emit(events, FeedEvent::Kind::symbol_back, "trades again after " + span_text(now.steady - symbol.rate.last()),
       first.symbol);
  symbol.rate.skip_to(now.steady);
  if (!symbol.heard.is_set() || first.time - symbol.heard < kHoleLeast) return;
  put_hole(first, first.symbol, symbol.heard, clean);
  events.push_back({FeedEvent::Kind::hole, feed_, first.symbol, symbol.heard, first.time, "no trade of it came"});
}

/// While nothing can be expected of a symbol its next gap has not begun.
void HealthMonitor::skip_pause(Rate& rate, Nanos steady) const {
  rate.skip_to(std::min(steady, std::max(expected_from(), back_since_)));
}

void HealthMonitor::note_symbol(const Tick& tick, Instant now, std::vector<Tick>& clean, std::vector<FeedEvent>& events) {
  if (tick.symbol == kNoSymbol) return;
  if (tick.symbol >= symbols_.size()) symbols_.resize(tick.symbol + 1);
  Symbol& symbol = symbols_[tick.symbol];
  symbol.known = symbol.known || tick.kind == TickKind::trade || tick.kind == TickKind::bar || tick.kind == TickKind::day;
  if (tick.kind == TickKind::status) {
    symbol.halted = tick.status != TradingStatus::trading;
    symbol.rate.skip_to(now.steady);
    return;
  }
  if (tick.kind != TickKind::trade) return;
  if (symbol.told) end_silence_of(tick, symbol, now, clean, events);
  symbol.heard = std::max(symbol.heard, tick.time);
  if (symbol.rate.events() > 0) skip_pause(symbol.rate, now.steady);
  symbol.rate.on_event(now.steady);
}

// ---- state and time

void HealthMonitor::on_state(FeedState state, std::string_view text, Instant now) {
  if (state_ == FeedState::up && state != FeedState::up && has_data_) {
    screen_.on_reconnect();
    if (state == FeedState::down) {
      ++counts_.breaks;
      if (breaks_.size() < kBreaksKept) breaks_.push_back(now.steady);
    }
    // Up to its last sign of life it could see, and what it showed then was `lag_` old; unless it had shown nothing for
    // longer than is usual: signs of life are no data.
    const bool saw_nothing = silent_told_ || is_silent(now);
    if (!blind_from_.is_set()) blind_from_ = saw_nothing ? last_tick_ : std::max(last_tick_, last_life_.wall - lag_);
  }
  if ((state == FeedState::up) != (state_ == FeedState::up)) state_since_ = now.steady;
  if (state == FeedState::stopped) brought_data_ = true;  // started anew, it waits anew
  if (state == FeedState::up && state_ != FeedState::up && std::exchange(brought_data_, false))
    waiting_since_ = now.steady;
  // While it is tried again, why it broke is worth more than that it is tried again.
  const bool tries_again = state == FeedState::connecting && state_ == FeedState::down;
  state_ = state;
  if (state != FeedState::up && !tries_again) state_text_ = text;
}

void HealthMonitor::on_time(Instant now, bool in_session, std::vector<FeedEvent>& events) {
  look_at_clock(now, events);
  if (in_session && !in_session_) session_since_ = now.steady;
  in_session_ = in_session;
  if (!in_session || now.steady < next_look_) return;
  next_look_ = now.steady + kLookEvery;
  look_at_breaks(now, events);
  look_for_silence(now, events);
  if (state_ == FeedState::up && has_data_) look_for_unheard(now, events);
  if (!silent_told_ && state_ == FeedState::up) look_at_symbols(now, events);
}

bool HealthMonitor::is_silent(Instant now) const {
  Rate seen = rate_;
  seen.skip_to(waited_from());
  return in_session_ && seen.is_silent(now.steady, limits_.silent_after);
}

void HealthMonitor::look_for_silence(Instant now, std::vector<FeedEvent>& events) {
  Rate seen = rate_;
  if (state_ != FeedState::up) {
    seen.skip_to(std::max(session_since_, state_since_));
    const Nanos patience = flapping_told_ ? std::max(limits_.silent_after, kFlappingPatience) : limits_.silent_after;
    if (!silent_told_ && now.steady - seen.last() > patience) {
      begin_silence(seen.last(), now.steady);
      emit(events, FeedEvent::Kind::silent, state_text_.empty() ? "not connected" : state_text_);
    }
    return;
  }
  seen.skip_to(waited_from());
  const Nanos quiet = now.steady - seen.last();
  const bool is_too_long = seen.events() == 0 ? quiet > std::max({limits_.silent_after, limits_.late_after, kFirstData})
                                              : seen.is_silent(now.steady, limits_.silent_after) ||
                                                    quiet > std::max(kSilenceMost, limits_.silent_after);
  if (!silent_told_ && is_too_long) {
    begin_silence(seen.last(), now.steady);
    emit(events, FeedEvent::Kind::silent,
         "connected, but no data for " + span_text(quiet) +
             (past_.day() ? "; what comes is of " + to_string(*past_.day()) + ", a day that is over" : "") +
             (refusal_.empty() ? "" : "; the source said: " + refusal_) +
             (unreadable_.empty() ? "" : "; what comes cannot be read: " + unreadable_) +
             (limits_.can_reconnect ? "; connecting anew" : ""));
  }
  if (limits_.can_reconnect && silent_told_ && now.steady >= next_reconnect_) {
    reconnect_wait_ = reconnect_wait_ == 0 ? kReconnectFirst : std::min(2 * reconnect_wait_, kReconnectMost);
    next_reconnect_ = now.steady + reconnect_wait_;
    emit(events, FeedEvent::Kind::reconnect, "no data for " + span_text(quiet));
  }
}

void HealthMonitor::begin_silence(Nanos since, Nanos steady) {
  silent_told_ = true;
  silent_since_ = since;
  ++counts_.silences;
  next_reconnect_ = steady;
}

void HealthMonitor::find_stopped(Instant now, const std::string& why, std::vector<FeedEvent>& events) {
  if (!in_session_ || !carries()) return;
  begin_silence(std::max(rate_.last(), session_since_ + delay_), now.steady);
  emit(events, FeedEvent::Kind::silent, why + (limits_.can_reconnect ? "; connecting anew" : ""));
}

/// A connection that breaks again and again is told once with a count, not with two notices a break.
void HealthMonitor::look_at_breaks(Instant now, std::vector<FeedEvent>& events) {
  breaks_.erase(breaks_.begin(),
                std::find_if(breaks_.begin(), breaks_.end(), [&](Nanos at) { return now.steady - at <= kFlappingSpan; }));
  if (!flapping_told_ && breaks_.size() >= kFlapping) {
    flapping_told_ = true;
    emit(events, FeedEvent::Kind::flapping,
         "the connection broke " + std::to_string(breaks_.size()) + " times in " +
             span_text(now.steady - breaks_.front()) + ", last: " + state_text_ +
             "; each time it comes back, and what it misses is marked as a hole");
  } else if (flapping_told_ && breaks_.empty()) {
    flapping_told_ = false;
    emit(events, FeedEvent::Kind::changed, "the connection has held for " + span_text(kFlappingSpan));
  }
}

void HealthMonitor::expect(const std::vector<ExpectedSymbol>& symbols, bool new_day, Instant now) {
  const auto before = [](const Expected& a, const Expected& b) { return a.what.symbol < b.what.symbol; };
  std::vector<Expected> all;
  for (const ExpectedSymbol& one : symbols) {
    Expected row{one, now.steady, false};
    const auto known = std::lower_bound(expected_.begin(), expected_.end(), row, before);
    if (!new_day && known != expected_.end() && known->what.symbol == one.symbol)
      row.since = known->since, row.told = known->told;
    all.push_back(std::move(row));
  }
  std::sort(all.begin(), all.end(), before);
  expected_ = std::move(all);
}

/// A symbol that the source does not give looks like a quiet one: by its usual volume it should have traded by now.
void HealthMonitor::look_for_unheard(Instant now, std::vector<FeedEvent>& events) {
  if (now.steady < next_unheard_look_) return;
  next_unheard_look_ = now.steady + kUnheardLook;
  const Nanos heard_from = std::max(expected_from(), back_since_);
  Nanos shortest = now.steady - heard_from;
  std::string names;
  std::size_t count = 0;
  for (Expected& one : expected_) {
    const Nanos listened = now.steady - std::max(heard_from, one.since);
    if (one.told || listened < kUnheardAfter || is_known(one.what.symbol)) continue;
    if (one.what.shares_per_second * static_cast<double>(listened) / 1e9 < kUnheardShares) continue;
    one.told = true;
    shortest = std::min(shortest, listened);
    if (++count <= kNamedMost) names += (names.empty() ? "" : ", ") + one.what.name;
  }
  if (count == 0) return;
  counts_.unheard += count;
  if (count > kNamedMost) names += " and " + std::to_string(count - kNamedMost) + " others";
  emit(
      events, FeedEvent::Kind::unheard,
      "nothing has come of " + names + " in " + span_text(shortest) +
          ", though by usual volume it should have traded. Does the source give it, and write it so? See symbol_form and "
          "symbol_names");
}

void HealthMonitor::look_at_symbols(Instant now, std::vector<FeedEvent>& events) {
  for (SymbolId id = 0; id < symbols_.size(); ++id) {
    Symbol& symbol = symbols_[id];
    if (symbol.told || symbol.halted || symbol.rate.events() < kBusy) continue;
    skip_pause(symbol.rate, now.steady);
    if (!symbol.rate.is_silent(now.steady, kSymbolSilence)) continue;
    symbol.told = true;
    ++counts_.symbol_silences;
    emit(events, FeedEvent::Kind::symbol_silent,
         "no trade for " + span_text(now.steady - symbol.rate.last()) + ", usually one every " +
             span_text(symbol.rate.usual_gap()) + "; it is halted, or the feed has lost it",
         id);
  }
}

void HealthMonitor::look_at_clock(Instant now, std::vector<FeedEvent>& events) {
  const Nanos offset = now.wall.ns - now.steady;
  const Nanos step = offset - clock_offset_;
  clock_offset_ = offset;
  if (!std::exchange(clock_known_, true) || std::llabs(step) <= kClockStep) return;
  ++counts_.clock_steps;
  ++clock_untold_;
  if (clock_told_ != 0 && now.steady - clock_told_ < kClockToldEvery) return;
  clock_told_ = now.steady;
  const std::uint64_t more = std::exchange(clock_untold_, 0) - 1;
  emit(events, FeedEvent::Kind::clock,
       "this computer's clock jumped " + std::string(step > 0 ? "forward" : "back") + " by " +
           span_text(std::llabs(step)) +
           (more == 0 ? "" : ", after " + std::to_string(more) + " jumps in the hour before") +
           "; ages of data said in this minute may be wrong");
}

}  // namespace brimwatch
