// The engine alone: nanoseconds a tick with sides and volume state, for few and for many watches, and bytes a watch. The
// ticks are made before the clock starts: 8,000 symbols in random order, prices that walk across their pivots.
#include <benchmark/benchmark.h>
#include <malloc.h>

#include <cmath>
#include <random>

#include "core/large_pages.h"
#include "engine/engine.h"

namespace {

using namespace brimwatch;

constexpr int kSymbols = 8000;
constexpr int kTicks = 4'000'000;

struct Silent : NoticeSink {
  std::uint64_t notices = 0;
  void on_notice(Notice&&) override { ++notices; }
};

std::shared_ptr<const Calendar> new_york() {
  static const auto calendar = *Calendar::load("XNYS", {});
  return calendar;
}

std::vector<Watch> make_watches(SymbolTable& symbols, int each) {
  std::vector<Watch> out;
  out.reserve(static_cast<std::size_t>(kSymbols) * static_cast<std::size_t>(each));
  for (int s = 0; s < kSymbols; ++s) {
    const std::string name = "S" + std::to_string(s);
    symbols.intern(name);
    for (int i = 0; i < each; ++i) {
      Watch w;
      w.symbol = name;
      w.calendar = Mic("XNYS");
      w.pivot = Price{50'000'000 + (s % 100) * 100'000 + (each == 1 ? 1'000'000 : 1'000'000 + i * 400'000)};
      w.normal_volume = Shares::whole(100'000);
      set_levels(w);
      out.push_back(w);
    }
  }
  return out;
}

/// The first four of a day's ten million trades. On large pages: to read them is not what is measured.
const LongVector<Tick>& ticks() {
  static const LongVector<Tick> all = [] {
    LongVector<Tick> out(kTicks);
    std::mt19937_64 random(7);
    std::vector<double> walk(kSymbols, 0.0);
    const Session& session = *new_york()->on(Date::of(2026, 11, 24));
    const Nanos step = (session.close - session.open) / 10'000'000;
    for (int i = 0; i < kTicks; ++i) {
      Tick& t = out[static_cast<std::size_t>(i)];
      const auto s = static_cast<std::uint32_t>(random() % kSymbols);
      walk[s] += (static_cast<double>(random() % 2001) - 1000) / 1000 * 0.002;
      t.symbol = s;
      t.time = session.open + i * step;
      t.price = Price{std::llround((50.5 + (s % 100) * 0.1) * std::exp(walk[s]) * 100) * 10'000};
      t.size = Shares::whole(100);
      t.exchange = "NPQ"[random() % 3];
      t.id = static_cast<std::uint64_t>(i) + 1;
      if (random() % 2 == 0) t.conditions = Conditions::of("F");
    }
    return out;
  }();
  return all;
}

DayPlan plan() {
  DayPlan p;
  p.normal = 100'000;
  p.prior = std::log(100'000.0);
  return p;
}

void engine_ticks(benchmark::State& state) {
  const auto each = static_cast<int>(state.range(0));
  ticks();
  const auto before = mallinfo2();
  SymbolTable symbols;
  const auto watches = make_watches(symbols, each);
  const auto loaded = mallinfo2();
  Engine engine(EngineOptions{}, symbols, [](SymbolId, std::uint32_t, const Session&) { return plan(); });
  engine.set_watches(watches, std::vector(watches.size(), new_york()));
  const auto after = mallinfo2();
  const auto count = static_cast<double>(watches.size());
  Silent sink;
  constexpr std::size_t kWarm = 400'000, kBatch = 4096;
  std::size_t at = kWarm;
  engine.on_ticks(std::span(ticks()).first(kWarm), sink);  // every symbol's day has begun
  std::uint64_t done = 0;
  for (auto _ : state) {
    if (at + kBatch > ticks().size()) {
      state.SkipWithError("out of ticks: fewer iterations, please");
      break;
    }
    engine.on_ticks(std::span(ticks()).subspan(at, kBatch), sink);
    at += kBatch;
    done += kBatch;
  }
  const auto used = [](const auto& later, const auto& earlier) {
    return static_cast<double>(later.uordblks + later.hblkhd) - static_cast<double>(earlier.uordblks + earlier.hblkhd);
  };
  state.SetItemsProcessed(static_cast<std::int64_t>(done));
  state.counters["ns_per_tick"] =
      benchmark::Counter(static_cast<double>(done) / 1e9, benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
  state.counters["engine_bytes_per_watch"] = used(after, loaded) / count;
  state.counters["list_bytes_per_watch"] = used(loaded, before) / count;
  state.counters["notices"] = static_cast<double>(sink.notices);
}
BENCHMARK(engine_ticks)->Arg(1)->Arg(125)->Iterations(850)->Unit(benchmark::kMicrosecond);

void put_in_force(benchmark::State& state) {
  SymbolTable symbols;
  const auto watches = make_watches(symbols, 125);
  const std::vector calendars(watches.size(), new_york());
  Engine engine(EngineOptions{}, symbols, nullptr);
  for (auto _ : state) engine.set_watches(watches, calendars);
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(watches.size()));
}
BENCHMARK(put_in_force)->Iterations(3)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
