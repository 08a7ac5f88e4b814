// simulate: the daemon in a made-up world, for as many sessions as asked, faster than time. Exits 1 when an invariant is
// broken, with the one command that shows it again.
#include <sys/resource.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <optional>
#include <string_view>

#include "episode.h"

namespace {

using namespace brimwatch;              // NOLINT(google-build-using-namespace): this is the program
using namespace brimwatch::simulation;  // NOLINT(google-build-using-namespace)

struct Arguments {
  int sessions = 20;
  std::uint64_t seed = 1;
  int episode = 5;  ///< sessions of one seed
  bool deaths = true, faults = true, memory = false;
  std::optional<int> minutes_behind;
};

[[noreturn]] void usage() {
  std::puts(
      "usage: simulate [--sessions N] [--seed S] [--episode K] [--no-deaths] [--no-faults] [--behind MINUTES] "
      "[--memory]\n"
      "  N sessions in all, K of them in a row for each seed from S on; --memory prints what the daemon holds as it "
      "goes");
  std::exit(2);
}

Arguments read(int count, char** words) {
  Arguments to;
  for (int i = 1; i < count; ++i) {
    const std::string_view word = words[i];
    const auto number = [&] { return i + 1 < count ? std::strtoull(words[++i], nullptr, 10) : (usage(), 0ULL); };
    if (word == "--sessions") to.sessions = static_cast<int>(number());
    else if (word == "--seed") to.seed = number();
    else if (word == "--episode") to.episode = static_cast<int>(number());
    else if (word == "--no-deaths") to.deaths = false;
    else if (word == "--no-faults") to.faults = to.deaths = false;
    else if (word == "--behind") to.minutes_behind = static_cast<int>(number());
    else if (word == "--memory") to.memory = true;
    else usage();
  }
  if (to.sessions < 1 || to.episode < 1) usage();
  return to;
}

/// A folder in memory where there is one: the disk's own speed is not what is looked at.
std::string folder() {
  const char* const base = ::access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
  return std::string(base) + "/simulate-" + std::to_string(::getpid());
}

/// Each seed has a week of its own, from 2023 to 2026: two hundred seeds are four trading years.
Date week_of(std::uint64_t seed) { return Date::of(2023, 1, 2) + static_cast<int>((seed - 1) % 208) * 7; }

void print_tally(const Tally& tally) {
  for (const auto& [what, count] : tally)
    std::printf("  %-52s %10llu\n", what.c_str(), static_cast<unsigned long long>(count));
}

}  // namespace

int main(int count, char** words) {
  const Arguments given = read(count, words);
  Tally tally;
  EpisodeResult sum;
  const auto begin = std::chrono::steady_clock::now();
  std::uint64_t seed = given.seed;
  for (; sum.sessions < given.sessions; ++seed) {
    EpisodeShape shape;
    shape.sessions = std::min(given.episode, given.sessions - sum.sessions);
    shape.faults = given.faults;
    shape.deaths = given.deaths;
    shape.minutes_behind = given.minutes_behind;
    shape.begin = week_of(seed);
    shape.folder = folder();
    if (given.memory)
      shape.on_session = [](int done, Date day, Life& life) {
        if (done % 21 == 0)
          std::printf("  %s  %4d sessions  %zu KiB in the daemon\n", to_string(day).c_str(), done,
                      life.bytes_held() / 1024);
      };
    const EpisodeResult one = Episode(seed, shape, tally).run();
    sum.sessions += one.sessions, sum.in_session += one.in_session, sum.in_all += one.in_all;
    sum.ticks += one.ticks, sum.expected += one.expected, sum.events += one.events;
    if (one.troubles.empty()) continue;
    std::printf("seed %llu: an invariant is broken\n", static_cast<unsigned long long>(seed));
    for (const std::string& trouble : one.troubles) std::printf("  %s\n", trouble.c_str());
    std::printf("again: %s --seed %llu --sessions %d --episode %d%s", words[0], static_cast<unsigned long long>(seed),
                shape.sessions, given.episode,
                !given.faults  ? " --no-faults"
                : given.deaths ? ""
                               : " --no-deaths");
    if (given.minutes_behind) std::printf(" --behind %d", *given.minutes_behind);
    std::puts("");
    return 1;
  }
  const double real = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  print_tally(tally);
  std::printf(
      "%d sessions, seeds %llu to %llu; %llu prints, %llu notices of watches expected and found; lost 0, twice 0\n"
      "%.1f days of virtual time (%.1f in session) in %.1f s: %.0f times real time (%.0f counting sessions only)\n",
      sum.sessions, static_cast<unsigned long long>(given.seed), static_cast<unsigned long long>(seed - 1),
      static_cast<unsigned long long>(sum.ticks), static_cast<unsigned long long>(sum.expected),
      static_cast<double>(sum.in_all) / 86'400e9, static_cast<double>(sum.in_session) / 86'400e9, real,
      static_cast<double>(sum.in_all) / 1e9 / real, static_cast<double>(sum.in_session) / 1e9 / real);
  return 0;
}
