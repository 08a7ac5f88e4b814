// How good the finding of bases is: planted bases of known kind among noise, and random walks that hold none.
//
//   weekend_quality [DIR]           the tables (some seconds); DIR: real daily bars, whose days are shuffled too
//   weekend_quality write DIR N     N random walks of five years as DIR/Annnn.csv, to measure the speed of `prepare`
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <string>

#include "../weekend/planted.h"
#include "../weekend/series.h"
#include "files/daily_file.h"
#include "weekend/choose.h"
#include "weekend/prepare.h"

namespace {

using namespace brimwatch;
using testing_support::plant;
using testing_support::Planted;

constexpr int kSeries = 2000;

std::vector<Candidate> listed(std::vector<Candidate> all, const RuleBook& book) {
  choose(all, book);
  return all;
}

bool right(const Candidate& found, const Planted& truth) {
  return found.facts.kind == truth.kind && std::abs(found.facts.pivot.as_double() / truth.peak - 1) < 0.03;
}

void planted_table(RuleBook book) {
  std::printf(
      "Planted bases, %d of each: found as that kind with the pivot within 3 %%, among all shapes / on the list; put on "
      "the\n"
      "list under another kind or pivot\n%-16s",
      kSeries, "noise a day");
  for (const double noise : {0.006, 0.012, 0.02, 0.03}) std::printf("%26.1f %%", 100 * noise);
  std::printf("\n");
  for (const BaseKind kind : kAllBaseKinds) {
    book.plain_listed = kind == BaseKind::no_base ? 1 : 0;
    std::printf("%-16s", std::string(to_string(kind)).c_str());
    for (const double noise : {0.006, 0.012, 0.02, 0.03}) {
      int shape = 0, list = 0, other = 0;
      for (int seed = 1; seed <= kSeries; ++seed) {
        const Planted truth = plant(kind, noise, static_cast<std::uint64_t>(seed));
        const auto all = judge_bases("KLVN", truth.bars, {}, book);
        bool in_shapes = false;
        for (const Candidate& one : all) in_shapes = in_shapes || right(one, truth);
        const auto chosen = listed(all, book);
        shape += in_shapes;
        list += !chosen.empty() && right(chosen.front(), truth);
        other += !chosen.empty() && !right(chosen.front(), truth);
      }
      std::printf("    %5.1f / %5.1f; %5.1f %%  ", 100.0 * shape / kSeries, 100.0 * list / kSeries,
                  100.0 * other / kSeries);
    }
    std::printf("\n");
  }
}

/// Series that hold no base which means anything.
struct Source {
  std::string name;
  std::function<std::vector<DailyBar>(int number)> make;
  int count = kSeries;
};

void walks_row(const Source& source, const RuleBook& book) {
  std::array<int, kBaseKinds> shapes{}, lists{};
  int any = 0, any_listed = 0;
  for (int number = 1; number <= source.count; ++number) {
    const auto all = judge_bases("KLVN", source.make(number), {}, book);
    std::array<bool, kBaseKinds> seen{};
    for (const Candidate& one : all) seen[static_cast<std::size_t>(one.facts.kind)] = true;
    for (std::size_t k = 0; k < kBaseKinds; ++k) shapes[k] += seen[k];
    any += std::any_of(all.begin(), all.end(), [](const Candidate& one) { return one.facts.kind != BaseKind::no_base; });
    const auto chosen = listed(all, book);
    any_listed += !chosen.empty();
    if (!chosen.empty()) ++lists[static_cast<std::size_t>(chosen.front().facts.kind)];
  }
  std::printf("%-34s", source.name.c_str());
  for (std::size_t k = 0; k < kBaseKinds; ++k)
    std::printf("  %6.1f / %5.1f %%", 100.0 * shapes[k] / source.count, 100.0 * lists[k] / source.count);
  std::printf("  %6.1f / %5.1f %%\n", 100.0 * any / source.count, 100.0 * any_listed / source.count);
}

std::vector<Source> walks() {
  std::vector<Source> out;
  for (const double drift : {0.0, 0.001}) {
    for (const double sd : {0.012, 0.02, 0.03}) {
      char name[80];
      std::snprintf(name, sizeof name, "drift %.1f %%, sd %.1f %%", 100 * drift, 100 * sd);
      const auto seed = [](int number) { return 77'000 + static_cast<std::uint64_t>(number); };
      out.push_back({name, [=](int number) { return testing_support::random_walk(600, sd, seed(number), drift); }});
      out.push_back({std::string(name) + ", clustered",
                     [=](int number) { return testing_support::clustered_walk(600, sd, seed(number), drift); }});
    }
  }
  return out;
}

/// Each file's days in several orders, the last 600 of them taken.
Source shuffled(const std::filesystem::path& directory) {
  std::vector<std::vector<DailyBar>> real;
  for (const auto& entry : std::filesystem::directory_iterator(directory)) {
    auto series = read_daily(entry.path().string(), DailyRows::readable);
    if (series && series->bars.size() > 600) real.push_back(std::move(series->bars));
  }
  std::sort(real.begin(), real.end(), [](const auto& a, const auto& b) { return a.front().close < b.front().close; });
  return {"real days, shuffled",
          [real](int number) {
            const auto& one = real[static_cast<std::size_t>(number) % real.size()];
            const auto all = testing_support::shuffled_days(one, static_cast<std::uint64_t>(number));
            return std::vector<DailyBar>(all.end() - 600, all.end());
          },
          real.empty() ? 0 : kSeries};
}

void walks_table(const RuleBook& book, const char* directory) {
  std::printf("\nSeries without bases, %d a row, 600 sessions: share with a shape / with one on the list\n%-34s", kSeries,
              "");
  for (const BaseKind kind : kAllBaseKinds) std::printf("%18s", std::string(to_string(kind)).c_str());
  std::printf("%18s\n", "any base");
  for (const Source& source : walks()) walks_row(source, book);
  if (directory == nullptr) return;
  if (const Source real = shuffled(directory); real.count > 0) walks_row(real, book);
}

/// What of one kind was listed in a mixture, and what lay behind it.
struct Listed {
  int right = 0, other = 0, walk = 0;  ///< planted as that kind and pivot; another planted base; a random walk
};

constexpr std::array<BaseKind, 4> kShapes = {BaseKind::cup_with_handle, BaseKind::cup, BaseKind::double_bottom,
                                             BaseKind::flat_base};
constexpr int kShapeCount = static_cast<int>(kShapes.size());

/// Half of the series hold a base, a quarter of those of each kind; the other half are random walks as wild as those.
/// Precision: of what was listed as a kind, the part that was planted so. With few bases about it is lower: that figure
/// counts every walk nine times.
void mixture_table(const RuleBook& book) {
  std::printf(
      "\nA mixture of %d planted bases of each kind and %d random walks of the same daily noise: recall, precision of "
      "what\n"
      "is listed as that kind, and precision where only one series in ten holds a base\n%-16s",
      kSeries, kShapeCount * kSeries, "noise a day");
  constexpr std::array<double, 4> kNoise{0.006, 0.012, 0.02, 0.03};
  for (const double noise : kNoise) std::printf("%26.1f %%", 100 * noise);
  std::array<std::array<Listed, kBaseKinds>, kNoise.size()> all{};
  for (std::size_t n = 0; n < kNoise.size(); ++n) {
    for (int seed = 1; seed <= kSeries; ++seed) {
      for (const BaseKind kind : kShapes) {
        const Planted truth = plant(kind, kNoise[n], 400'000 + static_cast<std::uint64_t>(seed));
        const auto chosen = listed(judge_bases("KLVN", truth.bars, {}, book), book);
        if (chosen.empty()) continue;
        Listed& of_kind = all[n][static_cast<std::size_t>(chosen.front().facts.kind)];
        (right(chosen.front(), truth) ? of_kind.right : of_kind.other) += 1;
      }
      for (int walk = 0; walk < kShapeCount; ++walk) {
        const auto number = static_cast<std::uint64_t>(kShapeCount * seed + walk);
        const auto chosen =
            listed(judge_bases("KLVN", testing_support::random_walk(400, kNoise[n], 900'000 + number), {}, book), book);
        if (!chosen.empty()) ++all[n][static_cast<std::size_t>(chosen.front().facts.kind)].walk;
      }
    }
  }
  for (const BaseKind kind : kShapes) {
    std::printf("\n%-16s", std::string(to_string(kind)).c_str());
    for (std::size_t n = 0; n < kNoise.size(); ++n) {
      const Listed& one = all[n][static_cast<std::size_t>(kind)];
      const auto share = [](double part, double whole) { return whole > 0 ? 100 * part / whole : 0; };
      std::printf("   %5.1f; %5.1f, %5.1f %%     ", share(one.right, kSeries),
                  share(one.right, one.right + one.other + one.walk),
                  share(one.right, one.right + one.other + 9.0 * one.walk));
    }
  }
  std::printf("\n");
}

int write_walks(const std::filesystem::path& directory, int count) {
  std::filesystem::create_directories(directory);
  for (int i = 0; i < count; ++i) {
    char name[32];
    std::snprintf(name, sizeof name, "A%05d.csv", i);
    std::ofstream file(directory / name, std::ios::binary);
    file << "date,open,high,low,close,volume\n";
    for (const DailyBar& bar : testing_support::random_walk(1260, 0.02, static_cast<std::uint64_t>(i))) {
      file << to_string(bar.day) << ',' << to_string(bar.open) << ',' << to_string(bar.high) << ',' << to_string(bar.low)
           << ',' << to_string(bar.close) << ',' << std::llround(bar.volume) << '\n';
    }
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc == 4 && std::string(argv[1]) == "write") return write_walks(argv[2], std::atoi(argv[3]));
  const RuleBook book;
  planted_table(book);
  walks_table(book, argc == 2 ? argv[1] : nullptr);
  mixture_table(book);
  return 0;
}
