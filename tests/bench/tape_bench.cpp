// Nanoseconds a row of reading a tape, against counting its lines. The tape is the file named by BRIMWATCH_BENCH_TAPE,
// with .gz and .zst beside it where they are (brimwatch_make_tape and scripts/bench make one).
#include <benchmark/benchmark.h>
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <string>
#include <vector>

#include "tape/reader.h"
#include "tape/separators.h"

namespace brimwatch {
namespace {

std::string tape_path() {
  const char* path = std::getenv("BRIMWATCH_BENCH_TAPE");
  return path == nullptr ? "" : path;
}

void per_row(benchmark::State& state, std::uint64_t rows) {
  state.counters["ns/row"] = benchmark::Counter(
      static_cast<double>(rows) * 1e-9, benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void read_tape(benchmark::State& state, const std::string& suffix, bool plain_path) {
  const std::string path = tape_path() + suffix;
  if (!std::ifstream(path)) return state.SkipWithError(("no tape " + path + "; set BRIMWATCH_BENCH_TAPE").c_str());
  std::uint64_t rows = 0;
  TapeOptions options;
  options.plain_path = plain_path;
  for (auto _ : state) {
    SymbolTable symbols;
    auto reader = TapeReader::open(path, symbols, options);
    std::int64_t sum = 0;
    for (;;) {
      const auto batch = (*reader)->next();
      if (!batch) return state.SkipWithError(batch.error().text.c_str());
      if (batch->empty()) break;
      for (const Tick& tick : *batch) sum += tick.size.micros ^ tick.time.ns;
    }
    benchmark::DoNotOptimize(sum);
    rows = (*reader)->stats().rows;
  }
  per_row(state, rows);
}

/// What `wc -l` does: read blocks, count line ends.
void count_lines(benchmark::State& state) {
  std::vector<char> block(256 * 1024);
  std::uint64_t rows = 0;
  for (auto _ : state) {
    rows = 0;
    const int file = ::open(tape_path().c_str(), O_RDONLY);
    if (file < 0) return state.SkipWithError("no tape; set BRIMWATCH_BENCH_TAPE");
    for (ssize_t got; (got = ::read(file, block.data(), block.size())) > 0;) {
      rows += static_cast<std::uint64_t>(std::count(block.data(), block.data() + got, '\n'));
    }
    ::close(file);
  }
  per_row(state, rows);
}

void find_only(benchmark::State& state, FindSeparators find) {
  std::vector<char> text(64 * 1024 + 64);
  std::ifstream(tape_path()).read(text.data(), 64 * 1024);
  std::vector<std::uint32_t> places(text.size());
  const auto rows = static_cast<std::uint64_t>(std::count(text.begin(), text.end(), '\n'));
  for (auto _ : state) benchmark::DoNotOptimize(find(text.data(), 64 * 1024, places.data()));
  per_row(state, rows);
}

BENCHMARK(count_lines)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(read_tape, plain, "", false)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(read_tape, plain_by_the_plain_path, "", true)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(read_tape, zstd, ".zst", false)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(read_tape, gzip, ".gz", false)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK_CAPTURE(find_only, portable, find_separators_portable);
#if defined(__x86_64__)
BENCHMARK_CAPTURE(find_only, sse2, find_separators_sse2);
BENCHMARK_CAPTURE(find_only, avx2, find_separators_avx2);
#endif

}  // namespace
}  // namespace brimwatch

BENCHMARK_MAIN();
