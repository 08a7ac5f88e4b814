#include "rehearsal/invented_day.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

namespace brimwatch {
namespace {

constexpr Nanos kEvery = 12 * kSecond;  ///< between two trades of a stock

/// A point of the day: its part that is over, and there the price as a part of the pivot, or the volume's pace against a
/// usual day's.
struct Bend {
  double at = 0, value = 0;
};

/// How a day goes. What happens in it stands beside it, in the order of a list's watches.
struct Story {
  std::vector<Bend> price, pace;
};

const std::array<Story, 7>& stories() {
  static const std::array<Story, 7> kStories = {{
      {{{0, .987}, {.18, .999}, {.19, 1.001}, {.5, 1.022}, {1, 1.031}}, {{0, 1.9}}},              // crosses, heavy, holds
      {{{0, .99}, {.1, .998}, {.11, 1.002}, {.4, 1.008}, {1, 1.03}}, {{0, .8}, {.4, 3.4}}},       // light; volume arrives
      {{{0, .991}, {.06, 1.003}, {.3, 1.056}, {.45, 1.06}, {.6, 1.035}, {1, 1.04}}, {{0, 2.2}}},  // leaves and is back
      {{{0, .996}, {.05, 1.004}, {.2, 1.012}, {.4, .985}, {1, .97}}, {{0, 1.6}}},                 // falls back under
      {{{0, .96}, {.5, .985}, {1, .993}}, {{0, 1.0}}},                                            // comes near, no more
      {{{0, 1.072}, {.1, 1.083}, {.5, 1.066}, {1, 1.09}}, {{0, 3.1}}},                            // opens over
      {{{0, .994}, {.03, 1.004}, {.35, .97}, {.7, .915}, {1, .93}}, {{0, 2.7}, {.12, .6}}},       // fades; the loss limit
  }};
  return kStories;
}

double along(const std::vector<Bend>& bends, double part) {
  const auto after = std::find_if(bends.begin(), bends.end(), [&](const Bend& bend) { return bend.at >= part; });
  if (after == bends.begin()) return after->value;
  if (after == bends.end()) return bends.back().value;
  const Bend& before = *std::prev(after);
  return before.value + (after->value - before.value) * (part - before.at) / (after->at - before.at);
}

double last_before(const std::vector<Bend>& bends, double part) {
  double value = bends.front().value;
  for (const Bend& bend : bends)
    if (bend.at <= part) value = bend.value;
  return value;
}

/// Of a usual day's volume at that part of it, against an even one: much at both ends, little in between.
double usual_pace(double part) {
  const double from_middle = 2 * part - 1;
  return 0.6 + 1.2 * from_middle * from_middle;
}

class Maker {
 public:
  Maker(const InventedSession& session, std::uint64_t seed) : session_(session), random_(seed) {}

  void add(const InventedStock& stock, const Story& story, std::vector<Tick>& out) {
    const Nanos whole = session_.close - session_.open;
    const double usual = (stock.normal > 0 ? stock.normal : 1'000'000) * static_cast<double>(kEvery) / double(whole);
    for (Nanos at = uniform(0, kEvery); at < whole; at += kEvery) {
      const double part = static_cast<double>(at) / static_cast<double>(whole);
      const double size = usual * usual_pace(part) * last_before(story.pace, part) * (0.7 + 0.6 * unit());
      const double wave = 0.0004 * std::sin(part * 300 + double(stock.symbol)) * (part < .99 ? 1 : 0);
      out.push_back(trade(stock, session_.open + at, along(story.price, part) + wave, std::max(100.0, size)));
    }
    out.push_back(trade(stock, session_.close + kInventedAfterClose, along(story.price, 1), 100));
  }

 private:
  double unit() { return std::uniform_real_distribution<double>(0, 1)(random_); }
  Nanos uniform(Nanos from, Nanos to) { return std::uniform_int_distribution<Nanos>(from, to - 1)(random_); }

  static Tick trade(const InventedStock& stock, Timestamp time, double factor, double size) {
    Tick tick;
    tick.time = time;
    tick.symbol = stock.symbol;
    const auto wanted = static_cast<std::int64_t>(stock.pivot.as_double() * factor * kMicrosPerUnit);
    tick.price = std::max(round_down(Price{wanted}, stock.tick_size), stock.tick_size);
    tick.size = Shares::whole(std::llround(size));
    return tick;
  }

  InventedSession session_;
  std::mt19937_64 random_;
};

}  // namespace

std::vector<Tick> invented_day(const std::vector<InventedStock>& stocks, const InventedSession& session,
                               std::uint64_t seed) {
  std::vector<Tick> out;
  Maker maker(session, seed);
  for (std::size_t i = 0; i < stocks.size(); ++i) maker.add(stocks[i], stories()[i % stories().size()], out);
  std::stable_sort(out.begin(), out.end(), [](const Tick& a, const Tick& b) { return a.time < b.time; });
  for (std::size_t i = 0; i < out.size(); ++i) out[i].id = i + 1;
  return out;
}

}  // namespace brimwatch
