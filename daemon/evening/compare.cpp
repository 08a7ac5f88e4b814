#include "evening/compare.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>

namespace brimwatch {
namespace {

struct Part {
  double sum = 0;
  int count = 0;
};

/// One measure's parts of one day, of both reviews.
struct DayPair {
  Part a, b;
};

using Value = std::function<std::optional<double>(const Crossing&)>;

struct MeasureKind {
  const char* name;
  bool more_is_better;
  Value value;
};

std::optional<double> share(const std::optional<bool>& is) {
  return is ? std::optional<double>(*is ? 100 : 0) : std::nullopt;
}

std::vector<MeasureKind> kinds() {
  const auto heavy = [](const Crossing& one) { return one.said.notice.volume.weight == Weight::heavy; };
  return {
      {"heavy crossings whose volume came, %", true,
       [=](const Crossing& one) { return heavy(one) ? share(one.came) : std::nullopt; }},
      {"heavy crossings that closed at or above the pivot, %", true,
       [=](const Crossing& one) -> std::optional<double> {
         if (!heavy(one) || !one.close) return std::nullopt;
         return one.closed != Side::under ? 100 : 0;
       }},
      {"error of the odds (Brier, 0 is perfect)", false,
       [](const Crossing& one) -> std::optional<double> {
         if (!one.came || one.said.notice.volume.weight == Weight::unknown) return std::nullopt;
         const double off = one.said.notice.volume.odds - (*one.came ? 1 : 0);
         return off * off;
       }},
      {"result of following, % each", true,
       [](const Crossing& one) -> std::optional<double> {
         if (!one.followed.taken || one.followed.held) return std::nullopt;
         return one.followed.result;
       }},
  };
}

std::vector<DayPair> by_day(const Review& a, const Review& b, const Value& value) {
  std::map<Date, DayPair> days;
  for (const Crossing& one : a.crossings) {
    Part& part = days[one.said.notice.day].a;
    if (const auto v = value(one)) part.sum += *v, ++part.count;
  }
  for (const Crossing& one : b.crossings) {
    Part& part = days[one.said.notice.day].b;
    if (const auto v = value(one)) part.sum += *v, ++part.count;
  }
  std::vector<DayPair> out;
  for (const auto& [day, pair] : days) out.push_back(pair);
  return out;
}

/// A small generator of our own, so that the same reviews give the same interval on every machine.
class Draws {
 public:
  std::size_t below(std::size_t count) {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return static_cast<std::size_t>((z ^ (z >> 31)) % count);
  }

 private:
  std::uint64_t state_ = 42;
};

std::optional<double> difference_of(const Part& a, const Part& b) {
  if (a.count == 0 || b.count == 0) return std::nullopt;
  return b.sum / b.count - a.sum / a.count;
}

void bootstrap(const std::vector<DayPair>& days, int draws, Measure& out) {
  Draws random;
  std::vector<double> differences;
  for (int i = 0; i < draws; ++i) {
    Part a, b;
    for (std::size_t k = 0; k < days.size(); ++k) {
      const DayPair& day = days[random.below(days.size())];
      a.sum += day.a.sum, a.count += day.a.count;
      b.sum += day.b.sum, b.count += day.b.count;
    }
    if (const auto difference = difference_of(a, b)) differences.push_back(*difference);
  }
  if (differences.size() < 100) return;
  std::sort(differences.begin(), differences.end());
  const auto at = [&](double part) {
    return differences[static_cast<std::size_t>(part * static_cast<double>(differences.size() - 1))];
  };
  out.low = at(0.025);
  out.high = at(0.975);
  out.within_noise = static_cast<int>(days.size()) < kLeastDaysToCompare || (out.low <= 0 && out.high >= 0);
}

Measure measure_of(const Review& a, const Review& b, const MeasureKind& kind, int draws, int& day_count) {
  const auto days = by_day(a, b, kind.value);
  day_count = static_cast<int>(days.size());
  Measure out;
  out.name = kind.name;
  out.more_is_better = kind.more_is_better;
  Part sum_a, sum_b;
  for (const DayPair& day : days) {
    sum_a.sum += day.a.sum, sum_a.count += day.a.count;
    sum_b.sum += day.b.sum, sum_b.count += day.b.count;
  }
  out.count_a = sum_a.count;
  out.count_b = sum_b.count;
  if (sum_a.count > 0) out.a = sum_a.sum / sum_a.count;
  if (sum_b.count > 0) out.b = sum_b.sum / sum_b.count;
  if (const auto difference = difference_of(sum_a, sum_b)) {
    out.difference = *difference;
    bootstrap(days, draws, out);
  }
  return out;
}

std::string verdict_on(const Comparison& comparison) {
  if (comparison.days < kLeastDaysToCompare) {
    return "Only " + std::to_string(comparison.days) + " days with a crossing: too few to prefer either.";
  }
  std::string better;
  for (const Measure& measure : comparison.measures) {
    if (measure.within_noise) continue;
    const bool b_is_better = (measure.difference > 0) == measure.more_is_better;
    better +=
        (better.empty() ? "" : "; ") + measure.name + ": " + (b_is_better ? "the second" : "the first") + " is better";
  }
  if (better.empty()) return "Every difference is within noise: these days give no reason to prefer either.";
  return "Beyond noise: " + better + ". The rest is within noise.";
}

}  // namespace

Comparison compare(const Review& a, const Review& b, int draws) {
  Comparison out;
  for (const MeasureKind& kind : kinds()) out.measures.push_back(measure_of(a, b, kind, draws, out.days));
  out.verdict = verdict_on(out);
  return out;
}

std::string in_words(const Comparison& comparison, std::string_view name_a, std::string_view name_b) {
  char line[240];
  std::string out = "A = " + std::string(name_a) + "\nB = " + std::string(name_b) + "\n";
  std::snprintf(line, sizeof line, "%-54s %15s %15s %10s %20s\n", "", "A", "B", "B - A", "95 % of chance");
  out += line;
  for (const Measure& m : comparison.measures) {
    std::snprintf(line, sizeof line, "%-54s %8.2f (%4d) %8.2f (%4d) %+10.2f %+9.2f to %+7.2f%s\n", m.name.c_str(), m.a,
                  m.count_a, m.b, m.count_b, m.difference, m.low, m.high, m.within_noise ? "  within noise" : "");
    out += line;
  }
  return out + comparison.verdict + "\n";
}

std::string to_json(const Comparison& comparison) {
  nlohmann::ordered_json out = {{"days", comparison.days}, {"verdict", comparison.verdict}};
  out["measures"] = nlohmann::ordered_json::array();
  for (const Measure& m : comparison.measures) {
    out["measures"].push_back({{"name", m.name},
                               {"a", m.a},
                               {"b", m.b},
                               {"count_a", m.count_a},
                               {"count_b", m.count_b},
                               {"difference", m.difference},
                               {"low", m.low},
                               {"high", m.high},
                               {"within_noise", m.within_noise}});
  }
  return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace brimwatch
