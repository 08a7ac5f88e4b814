// Ticks made of any bytes: no crash and no undefined behaviour, also in an engine that is restarted from its kept state
// on the way.
#include <cstdint>
#include <cstdlib>
#include <cstring>

#include "engine/engine.h"

namespace {

using namespace brimwatch;

struct Hash : NoticeSink {
  std::uint64_t value = 0;
  void mix(std::uint64_t x) { value = (value ^ x) * 1099511628211ULL; }
  void on_notice(Notice&& n) override {
    mix(static_cast<std::uint64_t>(n.kind)), mix(n.watch), mix(n.count);
    mix(static_cast<std::uint64_t>(n.price.micros)), mix(static_cast<std::uint64_t>(n.time.ns));
    mix(static_cast<std::uint64_t>(n.volume.so_far.micros));
  }
};

/// Bytes, one after the other; zeros when there are no more.
class Bytes {
 public:
  Bytes(const std::uint8_t* data, std::size_t size) : data_(data), left_(size) {}
  [[nodiscard]] bool empty() const { return left_ == 0; }
  template <typename T>
  T take() {
    T value{};
    const std::size_t n = left_ < sizeof(T) ? left_ : sizeof(T);
    std::memcpy(&value, data_, n);
    data_ += n;
    left_ -= n;
    return value;
  }

 private:
  const std::uint8_t* data_;
  std::size_t left_;
};

/// Mostly near what is plausible, now and then anything at all.
Tick tick_of(Bytes& bytes, Timestamp& clock) {
  static const char kCodes[] = {0, 0, 0, 'F', 'I', 'T', 'Z', 'L', '4', '6', '9', 'M', '@', 'U', '?', 'B'};
  Tick t;
  const auto shape = bytes.take<std::uint8_t>();
  const bool wild = shape >= 250;
  t.kind = static_cast<TickKind>(shape % 8);
  t.symbol = bytes.take<std::uint8_t>() % 5 == 4 ? kNoSymbol : shape % 4;
  clock = clock + static_cast<Nanos>(bytes.take<std::int16_t>()) * 10'000'000;
  t.time = wild ? Timestamp{bytes.take<std::int32_t>() * 4'000'000'000LL} : clock;
  t.price = wild ? Price{bytes.take<std::int64_t>() / 2} : Price{48'000'000 + bytes.take<std::int16_t>() * 200LL};
  t.size = wild ? Shares{bytes.take<std::int64_t>()} : Shares::whole(bytes.take<std::uint16_t>());
  t.status = static_cast<TradingStatus>(bytes.take<std::uint8_t>() % 5);
  t.exchange = "NPQ"[shape % 3];
  t.id = bytes.take<std::uint8_t>();
  t.conditions.codes[0] = kCodes[bytes.take<std::uint8_t>() % 16];
  if (shape % 16 == 5) t.received = t.time + bytes.take<std::int16_t>() * 1'000'000'000LL;
  if (t.kind == TickKind::hole) t.received = t.time + bytes.take<std::int16_t>() * 1'000'000'000LL;
  if (shape % 16 == 7)
    t.day_volume = wild ? Shares{bytes.take<std::int64_t>()} : Shares::whole(bytes.take<std::uint32_t>());
  t.bid = Price{t.price.micros - shape * 1000LL}, t.ask = Price{t.price.micros + shape};
  t.bid_size = t.size;
  return t;
}

std::vector<Watch> watches() {
  std::vector<Watch> out;
  for (int i = 0; i < 8; ++i) {
    Watch w;
    w.symbol = "SYM" + std::to_string(i % 4);
    w.calendar = Mic("XNYS");
    w.tape = i % 2 == 0 ? Tape::cts : Tape::utdf;
    w.pivot = Price{47'000'000 + i * 250'000};
    w.normal_volume = Shares::whole(100'000);
    w.rules.confirm_trades = static_cast<std::uint16_t>(1 + i % 2);
    set_levels(w);
    out.push_back(w);
  }
  return out;
}

std::uint64_t run(const std::uint8_t* data, std::size_t size, bool restarts) {
  static const auto calendar = *Calendar::load("XNYS", {});
  static const std::vector<Watch> list = watches();
  SymbolTable symbols;
  const auto make = [&] {
    auto engine = std::make_unique<Engine>(EngineOptions{}, symbols, [](SymbolId, std::uint32_t watch, const Session& s) {
      return make_plan(s, {}, nullptr, list[watch].normal_volume, *calendar);
    });
    engine->set_watches(list, std::vector(list.size(), calendar));
    return engine;
  };
  auto engine = make();
  Hash hash;
  Bytes bytes(data, size);
  Timestamp clock = calendar->on(Date::of(2026, 11, 24))->open;
  for (int n = 1; !bytes.empty(); ++n) {
    const Tick tick = tick_of(bytes, clock);
    engine->on_ticks({&tick, 1}, hash);
    if (!restarts || n % 5 != 0) continue;
    auto next = make();
    next->restore(engine->watch_states(), engine->symbol_states());
    engine = std::move(next);
  }
  return hash.value;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size > 4096) return 0;
  run(data, size, true);
  run(data, size, false);
  return 0;
}
