// What a tick and a question cost. Build and run: cmake --build build/release --target bench_volume
#include <benchmark/benchmark.h>

#include <cmath>

#include "volume/projection.h"

namespace brimwatch {
namespace {

void tick(benchmark::State& state) {
  DayVolume day;
  std::uint32_t i = 0;
  for (auto _ : state) {
    day.add(static_cast<std::int32_t>((i++ >> 8) % 390), Shares{100'000'000});
    benchmark::DoNotOptimize(day);
  }
}
BENCHMARK(tick);

void question(benchmark::State& state) {
  DayPlan plan;
  plan.normal = 1e6;
  plan.prior = std::log(0.9e6);
  DayVolume day;
  const auto minutes = static_cast<int>(state.range(0));
  for (int m = 0; m < minutes; ++m) day.add(m, Shares::whole(3'000));
  const Moment moment{.minutes = static_cast<double>(minutes)};
  for (auto _ : state) benchmark::DoNotOptimize(project(plan, day, moment, 1.4e6));
}
BENCHMARK(question)->Arg(5)->Arg(60)->Arg(300);

}  // namespace
}  // namespace brimwatch

BENCHMARK_MAIN();
