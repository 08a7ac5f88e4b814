#include "support/random_tape.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string>

namespace brimwatch::test {
namespace {

class Maker {
 public:
  Maker(std::uint32_t seed, const TapeShape& shape, const Calendar& calendar, SymbolTable& symbols)
      : random_(seed), shape_(shape), calendar_(calendar), symbols_(symbols) {}

  RandomTape run() {
    for (int i = 0; i < shape_.symbols; ++i) {
      const std::string name = "SYM" + std::to_string(i);
      ids_.push_back(symbols_.intern(name));
      prices_.push_back(20.0 + 10 * i);
      listings_.push_back(shape_.kinds && chance(0.5) ? 'N' : '\0');
    }
    for (int i = 0; i < shape_.watches; ++i) add_watch();
    out_.extended_volume = shape_.kinds && chance(0.3);
    const Session* session = calendar_.at_or_after(Timestamp{Date::of(2026, 11, 24).days * kDayNanos + 12 * kHour});
    for (int day = 0; day < shape_.days; ++day) {
      add_day(*session);
      if (shape_.kinds) between_days(*session);
      session = calendar_.at_or_after(session->close + kHour);
    }
    return std::move(out_);
  }

 private:
  std::uint32_t dice(std::uint32_t sides) { return static_cast<std::uint32_t>(random_() % sides); }
  bool chance(double p) { return static_cast<double>(random_()) < p * 4294967296.0; }

  void add_watch() {
    const auto symbol = dice(static_cast<std::uint32_t>(shape_.symbols));
    Watch w;
    w.symbol = symbols_.name(ids_[symbol]);
    w.calendar = Mic("XNYS");
    w.listing = listings_[symbol];
    w.pivot = Price{std::llround(prices_[symbol] * (0.985 + 0.0005 * dice(70)) * 100) * 10'000};
    w.normal_volume = Shares::whole(50'000 * (1 + symbol));
    constexpr std::int32_t kPercent = 1'000'000;
    w.rules.range = kPercent * static_cast<std::int32_t>(1 + dice(3)) / 2;
    w.rules.rearm = kPercent * static_cast<std::int32_t>(dice(4)) / 5;
    w.rules.slip = kPercent * static_cast<std::int32_t>(dice(4)) / 5;
    w.rules.loss = kPercent * static_cast<std::int32_t>(1 + dice(3)) / 2;
    w.rules.per_day = static_cast<std::uint16_t>(1 + dice(4));
    w.rules.surge = kPercent * static_cast<std::int32_t>(10 + 10 * dice(5));
    if (chance(0.3)) w.rules.tick_table = static_cast<TickTable>(1 + dice(11));
    if (chance(0.1)) w.rules.tick_size = Price{5'000};
    if (chance(0.5)) w.rules.odds_heavy = 0.5, w.rules.odds_light = 0.48;
    if (chance(0.3)) w.rules.confirm_trades = static_cast<std::uint16_t>(1 + dice(3));
    if (chance(0.2)) w.rules.confirm_seconds = static_cast<std::uint16_t>(dice(30));
    if (shape_.kinds && chance(0.3)) w.rules.bad_print = kPercent * static_cast<std::int32_t>(dice(3)) * 4;
    if (shape_.kinds && chance(0.2)) w.rules.least_size = static_cast<std::uint16_t>(1 + dice(100));
    if (shape_.kinds && chance(0.2)) w.rules.second_day = true;
    if (shape_.kinds && chance(0.2)) w.rules.close_above = true;
    if (shape_.kinds && chance(0.1)) w.rules.trust_auctions = false;
    if (shape_.kinds && chance(0.3)) w.rules.halts = dice(2) ? Halts::all : Halts::none;
    if (chance(0.1)) w.from = Date::of(2026, 11, 25);
    if (chance(0.1)) w.until = Date::of(2026, 11, 24);
    for (const Watch& other : out_.watches) {
      if (other.symbol == w.symbol && other.pivot == w.pivot) return;
    }
    set_levels(w);
    out_.watches.push_back(w);
  }

  void add_day(const Session& session) {
    carried_.clear();
    next_id_ = 0;  // ids are the day's own
    if (shape_.doubts) look_like_split();
    std::vector<Nanos> times;
    for (int i = 0; i < shape_.ticks_a_day; ++i) {
      const double span = static_cast<double>(session.close - session.open) * 1.04;
      times.push_back(static_cast<Nanos>(span * static_cast<double>(random_()) / 4294967296.0) - 5 * kMinute);
    }
    std::sort(times.begin(), times.end());
    for (const Nanos time : times) add_tick(session.open + time);
    for (const SymbolId id : ids_) {
      if (chance(0.8)) add_trade(id, session.close + (1 + dice(60)) * kSecond, "6");
    }
    if (shape_.kinds) add_evening(session);
    if (shape_.doubts) add_auctions(session);
    if (chance(0.5)) add_trade(ids_[0], session.close + 30 * kMinute, "T");
  }

  /// The close as a feed of snapshots tells it, or as it is corrected; what is taken back before and after the day's end.
  void add_evening(const Session& session) {
    for (std::uint32_t at = 0; at < ids_.size(); ++at) {
      if (chance(0.3)) add_snapshot(at, session.close + 70 * kSecond);
      if (chance(0.2)) add_trade(ids_[at], session.close + 80 * kSecond, dice(2) ? "9" : "M").exchange = "N\0P"[dice(3)];
      if (chance(0.2)) add_correction(session.close + 90 * kSecond);
      if (chance(0.2)) add_trade(ids_[at], session.close + 100 * kSecond, "6T").id = 0;
      if (chance(0.3)) take_back(session.close + 2 * kMinute);
    }
    for (int i = 0; i < 3; ++i)
      dice(2) ? take_back(session.close + 15 * kMinute) : add_correction(session.close + 16 * kMinute);
  }

  /// Nights and days without a session: what comes then belongs to no day, nor may it begin or end one.
  void between_days(const Session& session) {
    for (const Nanos later : {9 * kHour, 20 * kHour, 36 * kHour}) {
      const Timestamp time = session.close + later;
      if (calendar_.at_or_after(session.close + kHour)->open <= time) return;
      const auto at = dice(static_cast<std::uint32_t>(shape_.symbols));
      if (chance(0.3)) add_hole(ids_[at], time);
      if (chance(0.3)) add_trade(ids_[at], time, "");
      if (chance(0.3)) take_back(time), out_.ticks.back().time = time;
      if (chance(0.2)) add_status(ids_[at], time, TradingStatus::halted);
      if (chance(0.2)) add_snapshot(at, time);
    }
  }

  /// Overnight by what splits are by, or nearly; and back on some later day.
  void look_like_split() {
    for (std::size_t at = 0; at < prices_.size(); ++at) {
      if (!chance(0.4)) continue;
      const bool whole = prices_[at] > 15 && prices_[at] < 30 + 10 * static_cast<double>(at);
      const double by = std::array{1.5, 2.0, 3.0}[dice(3)] * (chance(0.2) ? 1.06 : 1.01);
      prices_[at] *= whole && dice(2) ? 1 / by : whole ? by : 20.0 / prices_[at] * (1 + 0.5 * static_cast<double>(at));
    }
  }

  /// Fills of an auction that no code tells, small ones before it, and others at its price later.
  void add_auctions(const Session& session) {
    for (const SymbolId id : ids_) {
      const Timestamp from = session.close + dice(9) * kMinute;
      add_trade(id, from, "").size = Shares::whole(1);
      const Price price = out_.ticks.back().price;
      for (int n = 0; n < 4; ++n) {
        Tick& t = add_trade(id, from + kSecond + n * 400'000'000, "");
        t.price = chance(0.8) ? price : Price{price.micros + 10'000};
        t.size = Shares::whole(50 + 4000 * dice(3));
      }
    }
  }

  /// Round the newest price, held or not; now and then somewhere else, crossed, or with one side only.
  void add_quote(std::uint32_t at, Timestamp time) {
    Tick t;
    t.kind = TickKind::quote;
    t.symbol = ids_[at];
    t.time = time;
    const auto newest = std::find_if(out_.ticks.rbegin(), out_.ticks.rend(), [&](const Tick& tick) {
      return tick.symbol == ids_[at] && tick.kind == TickKind::trade;
    });
    if (newest == out_.ticks.rend()) return;
    t.bid = Price{newest->price.micros - static_cast<std::int64_t>(dice(3)) * 10'000};
    t.ask = Price{t.bid.micros + (static_cast<std::int64_t>(dice(6)) - 1) * 10'000};
    if (chance(0.1)) t.bid = {};
    if (chance(0.1)) t.ask.micros += t.ask.micros / 20;
    if (chance(0.5)) t.time = newest->time + dice(3) * kSecond;
    out_.ticks.push_back(t);
  }

  /// A price far from the last, which the quotes bear out, or do not.
  void add_doubt(std::uint32_t at, Timestamp time) {
    if (dice(2))
      add_trade(ids_[at], time, "").price.micros =
          add_trade(ids_[at], time, "").price.micros / 100 * (dice(2) ? 107 : 93);
    for (std::uint32_t n = dice(3); n > 0; --n) add_quote(at, time + n * kSecond);
  }

  void add_tick(Timestamp time) {
    const auto at = dice(static_cast<std::uint32_t>(shape_.symbols));
    if (shape_.doubts && chance(0.05)) add_doubt(at, time);
    prices_[at] *= 1 + (static_cast<double>(dice(2001)) - 1000) / 1000 * 0.004;
    if (shape_.faults && chance(0.08)) return add_fault(at, time);
    if (shape_.kinds && chance(0.1)) return add_other(at, time);
    static const char* const kCodes[] = {"", "", "", "", "", "F", "F", "I", "I", "T", "Z", "4", "L", "B", "O", "FI", "5"};
    add_trade(ids_[at], time, shape_.faults ? kCodes[dice(17)] : "");
  }

  Tick& add_trade(SymbolId id, Timestamp time, const char* codes) {
    Tick t;
    t.symbol = id;
    t.time = time;
    t.price = Price{std::llround(prices_[id - ids_[0]] * 100) * 10'000};
    if (chance(0.004)) busy_ = 1 + dice(3) * dice(12);
    t.size = Shares::whole((1 + dice(100)) * busy_);
    t.conditions = Conditions::of(codes);
    t.exchange = shape_.kinds && chance(0.1) ? '\0' : "NPQD"[dice(4)];
    if (chance(0.7)) t.id = ++next_id_;
    if (shape_.kinds && chance(0.1)) t.received = time + dice(3000) * 1'000'000;
    carried_[id].micros += t.size.micros;
    out_.ticks.push_back(t);
    return out_.ticks.back();
  }

  void add_fault(std::uint32_t at, Timestamp time) {
    const SymbolId id = ids_[at];
    switch (dice(10)) {
      case 0:
        if (!out_.ticks.empty())
          out_.ticks.push_back(
              out_.ticks[out_.ticks.size() - 1 -
                         dice(std::min<std::uint32_t>(5, static_cast<std::uint32_t>(out_.ticks.size())))]);
        return;
      case 1:
        if (dice(2)) return as_late_as_it_may_be(id, time);
        add_trade(id, time - dice(8000) * 1'000'000, "");
        return;
      case 2:
        add_trade(id, time, "").price.micros *= dice(2) ? -1 : 1'000'000'000;
        return;
      case 3:
        if (dice(2)) return as_far_as_it_may_be(id, time);
        add_trade(id, time, "").price.micros = add_trade(id, time, "").price.micros / 100 * (dice(2) ? 108 : 91);
        return;
      case 4:
      case 5:
        return take_back(time);
      case 6:
        return add_status(id, time, TradingStatus::halted);
      case 7:
        return add_status(id, time, TradingStatus::trading);
      case 8:
        return add_hole(id, time);
      default:
        return jump(at, time);
    }
  }

  void add_other(std::uint32_t at, Timestamp time) {
    switch (dice(9)) {
      case 0:
      case 1:
        return add_bar(at, time);
      case 2:
      case 3:
        return add_snapshot(at, time);
      case 4:
        return add_correction(time);
      case 5:
        add_trade(ids_[at], time, dice(3) ? "" : "M").day_volume = count_of_day(at);
        return;
      case 6:
        return add_absurd(at, time);
      case 7: {  // an id that another exchange has used as well
        Tick& t = add_trade(ids_[at], time, "");
        t.id = next_id_ > 3 ? next_id_ - dice(3) : 0;
        return;
      }
      default:
        for (std::uint32_t n = 1 + dice(4); n > 0; --n) {
          Tick& t = add_trade(ids_[at], time + n, "");
          t.received = t.time - (dice(2) ? 3 : 2) * kMinute;
        }
    }
  }

  /// What the feed may say of the day's volume: what it has carried, less, or more by what it lost.
  Shares count_of_day(std::uint32_t at) {
    Shares& carried = carried_[ids_[at]];
    if (chance(0.3)) carried += Shares::whole(dice(4000));
    return Shares{carried.micros - (chance(0.2) ? carried.micros / 50 : 0)};
  }

  void add_bar(std::uint32_t at, Timestamp time) {
    Tick t = add_trade(ids_[at], time, "");
    out_.ticks.pop_back();
    t.kind = TickKind::bar;
    t.id = 0;
    if (chance(0.8)) t.time = Timestamp{(time.ns / kMinute) * kMinute};
    t.bid = Price{t.price.micros - dice(40) * 10'000};
    t.ask = Price{t.price.micros + dice(40) * 10'000};
    if (chance(0.1)) t.ask = Price{t.price.micros / 100 * 107};
    if (chance(0.1)) t.bid = Price{-static_cast<std::int64_t>(dice(2))};
    if (chance(0.4)) t.day_volume = count_of_day(at);
    out_.ticks.push_back(t);
  }

  void add_snapshot(std::uint32_t at, Timestamp time) {
    Tick t;
    t.kind = TickKind::day;
    t.symbol = ids_[at];
    t.time = time - (chance(0.2) ? dice(5) * kSecond : 0);
    t.price = Price{std::llround(prices_[at] * 100) * 10'000};
    if (chance(0.1)) t.price.micros = t.price.micros / 100 * 108;
    if (chance(0.8)) t.day_volume = count_of_day(at);
    if (chance(0.2)) t.conditions = Conditions::of(std::array{"I", "F", "Z", "T"}[dice(4)]);
    if (chance(0.3)) t.id = 1 + dice(400);
    out_.ticks.push_back(t);
    while (chance(0.4)) out_.ticks.push_back(t), out_.ticks.back().time = time + dice(5) * kSecond;
  }

  void add_correction(Timestamp time) {
    if (out_.ticks.size() < 10) return;
    Tick t = out_.ticks[out_.ticks.size() - 1 - dice(8)];
    if (t.kind != TickKind::trade) return;
    t.kind = TickKind::correct;
    t.bid = t.price;
    if (chance(0.7)) t.bid_size = t.size;
    if (chance(0.7)) t.size = Shares::whole(1 + dice(200));
    if (chance(0.7)) t.price.micros += (dice(2) ? 1 : -1) * 10'000 * static_cast<std::int64_t>(dice(300));
    if (t.id != 0) t.time = time;
    out_.ticks.push_back(t);
  }

  void add_absurd(std::uint32_t at, Timestamp time) {
    Tick t = add_trade(ids_[at], time, "");
    out_.ticks.pop_back();
    t.kind = std::array{TickKind::trade, TickKind::cancel, TickKind::correct, TickKind::bar,
                        TickKind::day,   TickKind::quote,  TickKind::status}[dice(7)];
    t.id = 0;
    switch (dice(4)) {
      case 0:
        t.size = Shares{-1};
        break;
      case 1:
        t.size = Shares{Shares::whole(10'000'000'000).micros + dice(2)};
        break;
      case 2:
        t.day_volume = t.bid_size = Shares{dice(2) ? -5 : Shares::whole(4'000'000'000'000).micros + dice(2)};
        break;
      default:
        t.received = t.time - 9 * kMinute;
        if (dice(2)) t.time = t.time + 30 * kHour;
        t.status = TradingStatus::halted;
    }
    if (t.size > Shares::whole(1'000'000) && t.kind == TickKind::trade && chance(0.9)) return;  // it would drown the day
    out_.ticks.push_back(t);
  }

  /// Two seconds after the newest, or a nanosecond more or less.
  void as_late_as_it_may_be(SymbolId id, Timestamp time) {
    add_trade(id, time, "");
    prices_[id - ids_[0]] *= 1.01;
    add_trade(id, time - 2 * kSecond + static_cast<Nanos>(dice(3)) - 1, "");
  }

  /// From the last price, by just what one of the print guards allows.
  void as_far_as_it_may_be(SymbolId id, Timestamp time) {
    const std::int64_t cents = add_trade(id, time, "").price.micros / 100;
    const std::int64_t percent = std::array{4, 5, 8}[dice(3)];
    add_trade(id, time + 1, "").price.micros = cents * (dice(2) ? 100 + percent : 100 - percent);
  }

  void jump(std::uint32_t at, Timestamp time) {
    prices_[at] *= dice(2) ? 1.06 : 0.945;
    prices_[at] = std::clamp(prices_[at], 17.0 + 10 * at, 23.0 + 10 * at);
    add_trade(ids_[at], time, "");
    add_trade(ids_[at], time + 1'000'000, "");
  }

  void take_back(Timestamp time) {
    if (out_.ticks.size() < 10) return;
    Tick t = out_.ticks[out_.ticks.size() - 1 - dice(8)];
    if (t.kind != TickKind::trade) return;
    t.kind = TickKind::cancel;
    if (t.id != 0) t.time = time;
    out_.ticks.push_back(t);
  }

  void add_status(SymbolId id, Timestamp time, TradingStatus status) {
    Tick t;
    t.kind = TickKind::status;
    t.symbol = id;
    t.time = time;
    t.status = status;
    out_.ticks.push_back(t);
  }

  void add_hole(SymbolId id, Timestamp time) {
    Tick t;
    t.kind = TickKind::hole;
    t.symbol = chance(0.5) ? id : kNoSymbol;
    t.time = time - dice(300) * kSecond;
    t.received = time;
    out_.ticks.push_back(t);
  }

  std::mt19937 random_;
  const TapeShape& shape_;
  const Calendar& calendar_;
  SymbolTable& symbols_;
  std::vector<SymbolId> ids_;
  std::vector<double> prices_;
  std::string listings_;
  std::map<SymbolId, Shares> carried_;  ///< of the day
  std::uint64_t next_id_ = 0;
  std::uint32_t busy_ = 4;  ///< volume comes in waves, so that it arrives and fades
  RandomTape out_;
};

}  // namespace

RandomTape random_tape(std::uint32_t seed, const TapeShape& shape, const Calendar& calendar, SymbolTable& symbols) {
  return Maker(seed, shape, calendar, symbols).run();
}

}  // namespace brimwatch::test
