// No allocation on a tick: every way of asking for memory is counted while ticks go through. The day's beginning asks the
// plan source (which here asks for none), its end writes a record with a name in it and is left out.
#include <gtest/gtest.h>

#include <cstdlib>
#include <new>

#include "engine/engine.h"
#include "support/random_tape.h"

namespace {
std::uint64_t allocations = 0;
}

__attribute__((noinline)) void* operator new(std::size_t size) {
  ++allocations;
  if (void* p = std::malloc(size != 0 ? size : 1)) return p;
  std::abort();
}
__attribute__((noinline)) void operator delete(void* p) noexcept { std::free(p); }
__attribute__((noinline)) void operator delete(void* p, std::size_t) noexcept { std::free(p); }

namespace brimwatch::test {
namespace {

struct Count : NoticeSink {
  std::uint64_t notices = 0;
  void on_notice(Notice&&) override { ++notices; }
};

TEST(Allocation, a_tick_asks_for_no_memory_whatever_it_causes) {
  const auto calendar = *Calendar::load("XNYS", {});
  SymbolTable symbols;
  const TapeShape shape{4, 60, 1, 20000, true};
  const RandomTape tape = random_tape(3, shape, *calendar, symbols);
  DayPlan plan;
  plan.normal = 200'000;
  plan.prior = 12;
  Engine engine(EngineOptions{}, symbols, [&](SymbolId, std::uint32_t, const Session&) { return plan; });
  engine.set_watches(tape.watches, std::vector(tape.watches.size(), calendar));
  const Timestamp end = calendar->on(Date::of(2026, 11, 24))->close + kMinute;
  Count sink;
  std::uint64_t asked = 0;
  for (const Tick& tick : tape.ticks) {
    if (tick.time >= end || tick.received >= end) continue;
    const std::uint64_t before = allocations;
    engine.on_ticks({&tick, 1}, sink);
    asked += allocations - before;
  }
  EXPECT_EQ(asked, 0u);
  EXPECT_GT(sink.notices, 100u);
  EXPECT_GT(allocations, 0u) << "the counter counts";
}

}  // namespace
}  // namespace brimwatch::test
