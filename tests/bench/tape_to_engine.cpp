// A tape through the reader and the engine and nothing else: `brimwatch_tape_to_engine TAPE WATCHES.csv [ROUNDS]`, with
// the files of brimwatch_make_tape. Prints ticks, notices, and the processor's time in the reader and in the engine. What
// scripts/instructions counts, and small enough to be profiled.
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <string>

#include "engine/engine.h"
#include "tape/reader.h"

namespace {

using namespace brimwatch;

struct Count : NoticeSink {
  std::uint64_t notices = 0;
  void on_notice(Notice&&) override { ++notices; }
};

/// Rows "symbol,pivot,normal_volume" behind a header.
std::vector<Watch> read_watches(const char* path) {
  std::vector<Watch> out;
  std::ifstream file(path);
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    const std::size_t first = line.find(','), second = line.find(',', first + 1);
    Watch watch;
    watch.symbol = line.substr(0, first);
    watch.calendar = Mic("XNYS");
    watch.pivot = *parse_price(std::string_view(line).substr(first + 1, second - first - 1));
    watch.normal_volume = Shares::whole(std::strtoll(line.c_str() + second + 1, nullptr, 10));
    set_levels(watch);
    out.push_back(std::move(watch));
  }
  return out;
}

double processor_seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) / 1e9;
}

struct Round {
  std::uint64_t ticks = 0, eligible = 0, notices = 0;
  double reading = 0, engine = 0;
};

Round run(const char* tape, const std::vector<Watch>& watches) {
  SymbolTable symbols;
  const auto plan = [&](SymbolId, std::uint32_t watch, const Session&) {
    DayPlan p;
    p.normal = watches[watch].normal_volume->as_double();
    p.prior = std::log(p.normal);
    return p;
  };
  Engine engine(EngineOptions{}, symbols, plan);
  engine.set_watches(watches, std::vector(watches.size(), *Calendar::load("XNYS", {})));
  auto reader = TapeReader::open(tape, symbols);
  if (!reader) std::fprintf(stderr, "%s\n", reader.error().text.c_str()), std::exit(4);
  Round round;
  Count sink;
  for (;;) {
    const double at = processor_seconds();
    const auto ticks = (*reader)->next();
    const double read = processor_seconds();
    round.reading += read - at;
    if (!ticks || ticks->empty()) break;
    engine.on_ticks(*ticks, sink);
    round.engine += processor_seconds() - read;
  }
  round.ticks = (*reader)->stats().ticks;
  round.eligible = engine.counters().eligible;
  round.notices = sink.notices;
  return round;
}

}  // namespace

int main(int count, char** words) {
  if (count < 3) {
    std::fprintf(stderr, "usage: %s TAPE WATCHES.csv [ROUNDS]\n", words[0]);
    return 2;
  }
  const std::vector<Watch> watches = read_watches(words[2]);
  const int rounds = count > 3 ? std::atoi(words[3]) : 1;
  for (int i = 0; i < rounds; ++i) {
    const Round r = run(words[1], watches);
    const auto each = [&](double seconds) { return seconds * 1e9 / static_cast<double>(r.ticks); };
    std::printf("%llu ticks, %llu eligible, %llu notices; reading %.1f ns, engine %.1f ns a tick\n",
                static_cast<unsigned long long>(r.ticks), static_cast<unsigned long long>(r.eligible),
                static_cast<unsigned long long>(r.notices), each(r.reading), each(r.engine));
  }
  return 0;
}
