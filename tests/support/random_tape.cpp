#include "support/random_tape.h"

#include <algorithm>
#include <cmath>

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
    }
    for (int i = 0; i < shape_.watches; ++i) add_watch();
    const Session* session = calendar_.at_or_after(Timestamp{Date::of(2026, 11, 24).days * kDayNanos + 12 * kHour});
    for (int day = 0; day < shape_.days; ++day) {
      add_day(*session);
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
    w.pivot = Price{std::llround(prices_[symbol] * (0.985 + 0.0005 * dice(70)) * 100) * 10'000};
    w.normal_volume = Shares::whole(100'000 * (1 + symbol));
    constexpr std::int32_t kPercent = 1'000'000;
    w.rules.range = kPercent * static_cast<std::int32_t>(1 + dice(3)) / 2;
    w.rules.rearm = kPercent * static_cast<std::int32_t>(dice(4)) / 5;
    w.rules.slip = kPercent * static_cast<std::int32_t>(dice(4)) / 5;
    w.rules.loss = kPercent * static_cast<std::int32_t>(1 + dice(3)) / 2;
    w.rules.per_day = static_cast<std::uint16_t>(1 + dice(4));
    w.rules.surge = kPercent * static_cast<std::int32_t>(10 + 10 * dice(5));
    if (chance(0.5)) w.rules.odds_heavy = 0.55, w.rules.odds_light = 0.5;
    if (chance(0.3)) w.rules.confirm_trades = static_cast<std::uint16_t>(1 + dice(3));
    if (chance(0.2)) w.rules.confirm_seconds = static_cast<std::uint16_t>(dice(30));
    if (chance(0.1)) w.from = Date::of(2026, 11, 25);
    if (chance(0.1)) w.until = Date::of(2026, 11, 24);
    for (const Watch& other : out_.watches) {
      if (other.symbol == w.symbol && other.pivot == w.pivot) return;
    }
    set_levels(w);
    out_.watches.push_back(w);
  }

  void add_day(const Session& session) {
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
    if (chance(0.5)) add_trade(ids_[0], session.close + 30 * kMinute, "T");
  }

  void add_tick(Timestamp time) {
    const auto at = dice(static_cast<std::uint32_t>(shape_.symbols));
    prices_[at] *= 1 + (static_cast<double>(dice(2001)) - 1000) / 1000 * 0.004;
    if (shape_.faults && chance(0.08)) return add_fault(at, time);
    static const char* const kCodes[] = {"", "", "", "", "", "F", "F", "I", "I", "T", "Z", "4", "L", "B", "O", "FI"};
    add_trade(ids_[at], time, shape_.faults ? kCodes[dice(16)] : "");
  }

  Tick& add_trade(SymbolId id, Timestamp time, const char* codes) {
    Tick t;
    t.symbol = id;
    t.time = time;
    t.price = Price{std::llround(prices_[id - ids_[0]] * 100) * 10'000};
    if (chance(0.004)) busy_ = 1 + dice(3) * dice(12);
    t.size = Shares::whole((1 + dice(100)) * busy_);
    t.conditions = Conditions::of(codes);
    t.exchange = "NPQD"[dice(4)];
    if (chance(0.7)) t.id = ++next_id_;
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
        add_trade(id, time - dice(8000) * 1'000'000, "");
        return;
      case 2:
        add_trade(id, time, "").price.micros *= dice(2) ? -1 : 1'000'000'000;
        return;
      case 3:
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
  std::uint64_t next_id_ = 0;
  std::uint32_t busy_ = 4;  ///< volume comes in waves, so that it arrives and fades
  RandomTape out_;
};

}  // namespace

RandomTape random_tape(std::uint32_t seed, const TapeShape& shape, const Calendar& calendar, SymbolTable& symbols) {
  return Maker(seed, shape, calendar, symbols).run();
}

}  // namespace brimwatch::test
