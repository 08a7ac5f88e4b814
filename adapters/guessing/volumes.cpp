#include "adapters/guessing/volumes.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <tuple>

#include "adapters/guessing/bars.h"

namespace brimwatch {
namespace {

/// Sums over the same intervals.
struct Sums {
  std::size_t intervals = 0, equal = 0;
  double bars = 0, parts = 0;
  double factor = 1;  ///< shares of a bar for one of the parts, where their units differ

  [[nodiscard]] bool are_same() const {
    return intervals >= 2 && 10 * equal >= 7 * intervals && std::abs(bars - parts * factor) <= 0.01 * bars;
  }
};

/// Of the intervals that the parts cover whole; bars are named by the interval's beginning, or by its end (`back` of 1).
Sums sums_over(const std::vector<VolumeAt>& bars, const std::vector<VolumeAt>& parts, std::int64_t length,
               std::int64_t back, std::int64_t shift) {
  using Place = std::pair<std::string, std::int64_t>;
  std::map<Place, double> of_parts, of_bars;
  std::int64_t first = parts.front().ns - shift, last = first;
  for (const VolumeAt& part : parts) {
    const std::int64_t ns = part.ns - shift;
    of_parts[{part.symbol, ns / length}] += part.shares;
    first = std::min(first, ns);
    last = std::max(last, ns);
  }
  for (const VolumeAt& bar : bars) of_bars[{bar.symbol, bar.ns / length - back}] = bar.shares;  // the last that was said
  const auto known = symbols_of_parts(parts);
  std::vector<std::pair<double, double>> pairs;
  for (const auto& [place, shares] : of_bars) {
    const bool covered = place.second * length >= first && (place.second + 1) * length <= last + shift;
    if (!covered || known.count(place.first) == 0) continue;
    const auto theirs = of_parts.find(place);
    pairs.emplace_back(shares, theirs == of_parts.end() ? 0 : theirs->second);
  }
  Sums out;
  out.intervals = pairs.size();
  for (const auto& [bar, part] : pairs) out.bars += bar, out.parts += part;
  for (const double factor : {1.0, 100.0, 10.0, 1000.0, 0.01, 0.1, 0.001}) {
    const auto equal = std::count_if(pairs.begin(), pairs.end(), [&](const auto& pair) {
      return std::abs(pair.first - pair.second * factor) <= (factor < 1 ? 1 : 1e-6);
    });
    const bool better = factor == 1 || 10 * static_cast<std::size_t>(equal) >= 9 * out.intervals;
    if (better && static_cast<std::size_t>(equal) > out.equal)
      out.equal = static_cast<std::size_t>(equal), out.factor = factor;
  }
  return out;
}

/// By the reading of the bars' times that agrees best. `length_of_parts`: of shorter bars, whose times may be their ends.
Sums compare(const std::vector<VolumeAt>& bars, const std::vector<VolumeAt>& parts, std::int64_t length,
             std::int64_t length_of_parts) {
  Sums best;
  if (bars.empty() || parts.empty() || length == 0) return best;
  const auto off = [](const Sums& sums) { return std::abs(sums.bars - sums.parts * sums.factor); };
  for (const std::int64_t back : {std::int64_t{0}, std::int64_t{1}}) {
    for (const std::int64_t shift : {std::int64_t{0}, length_of_parts}) {
      const Sums sums = sums_over(bars, parts, length, back, shift);
      const bool better = sums.equal > best.equal || (sums.equal == best.equal && off(sums) < off(best));
      if (sums.intervals > 0 && (best.intervals == 0 || better)) best = sums;
      if (length_of_parts == 0) break;
    }
  }
  return best;
}

std::string whole(double value) { return std::to_string(std::llround(value)); }

class Counting {
 public:
  Counting(const std::vector<Record>& records, std::vector<SortGuess>& guesses) : guesses_(guesses) {
    for (const SortGuess& guess : guesses_)
      parts_.push_back(is_counted(guess) ? parts_of_sort(records, guess) : std::vector<VolumeAt>());
  }

  void settle() {
    pass_over_told_again();
    const bool trades = has_kind(MessageKind::trade);
    for (std::size_t i = 0; i < guesses_.size(); ++i) {
      if (guesses_[i].is == MessageKind::bar && trades) pass_over_beside_trades(i);
    }
    if (!trades) pass_over_longer_bars();
  }

 private:
  static bool is_counted(const SortGuess& guess) {
    return guess.is == MessageKind::trade || guess.is == MessageKind::bar;
  }
  [[nodiscard]] bool has_kind(MessageKind kind) const {
    return std::any_of(guesses_.begin(), guesses_.end(), [&](const SortGuess& guess) { return guess.kind == kind; });
  }

  /// Sorts that differ in what tells them apart: one that lacks a value now and then is the same still.
  [[nodiscard]] bool is_apart(std::size_t a, std::size_t b) const {
    const SortGuess &one = guesses_[a], &other = guesses_[b];
    const bool named = !one.sort.word.empty() || !other.sort.word.empty();
    const bool same =
        one.sort.word == other.sort.word && one.sort.second == other.sort.second && one.equals == other.equals;
    return !(named && same);
  }

  void pass_over(std::size_t i, Sure sure, const std::string& why) {
    guesses_[i].kind = MessageKind::ignore;
    guesses_[i].sure = sure;
    guesses_[i].why += "; " + why;
  }

  /// Beside trades bars would count the same volume twice, where it is the same.
  void pass_over_beside_trades(std::size_t i) {
    std::vector<VolumeAt> trades;
    for (std::size_t other = 0; other < guesses_.size(); ++other) {
      if (guesses_[other].kind == MessageKind::trade)
        trades.insert(trades.end(), parts_[other].begin(), parts_[other].end());
    }
    const Sums sums = compare(parts_[i], trades, length_of_bars(parts_[i]), 0);
    if (sums.are_same()) {
      return pass_over(i, guesses_[i].sure,
                       "passed over: over " + std::to_string(sums.intervals) +
                           " intervals its volume is that of the trades, and would count twice");
    }
    const std::string found = sums.intervals == 0
                                  ? "no interval of the sample has both whole"
                                  : "over " + std::to_string(sums.intervals) + " same intervals the bars have " +
                                        whole(sums.bars) + " shares and the trades " + whole(sums.parts);
    pass_over(i, Sure::likely, "passed over beside the trades; but " + found);
    guesses_[i].question = "bars beside trades: " + found +
                           "; which is to be counted? As proposed the trades are; for the bars, map these to bar and "
                           "the trades to ignore";
    for (SortGuess& guess : guesses_) {
      if (guess.kind != MessageKind::trade || sums.intervals == 0) continue;
      guess.sure = Sure::likely;
      guess.why += "; but bars beside them have another volume";
    }
  }

  /// The shortest bars are counted, longer ones hold the same again.
  void pass_over_longer_bars() {
    for (std::size_t i = 0; i < guesses_.size(); ++i) {
      for (std::size_t other = 0; other < guesses_.size(); ++other) {
        const bool bars = guesses_[i].kind == MessageKind::bar && guesses_[other].kind == MessageKind::bar;
        if (i != other && bars && is_apart(i, other) && share_symbols(i, other) && is_longer(i, other))
          pass_over_longer(i, other);
      }
    }
  }

  [[nodiscard]] bool share_symbols(std::size_t a, std::size_t b) const {
    const auto one = symbols_of_parts(parts_[a]), other = symbols_of_parts(parts_[b]);
    return std::any_of(one.begin(), one.end(), [&](const std::string& symbol) { return other.count(symbol) != 0; });
  }

  [[nodiscard]] bool is_longer(std::size_t a, std::size_t b) const {
    const std::int64_t one = length_of_bars(parts_[a]), other = length_of_bars(parts_[b]);
    return one == other ? parts_[a].size() < parts_[b].size() || (parts_[a].size() == parts_[b].size() && a > b)
                        : one == 0 || (other != 0 && one > other);
  }

  static std::string name_of(const SortGuess& bars) {
    return bars.sort.word.empty() ? "the shorter bars" : "\"" + bars.sort.word + "\"";
  }

  void pass_over_longer(std::size_t i, std::size_t shorter) {
    const std::int64_t length = length_of_bars(parts_[shorter]);
    const Sums sums = compare(parts_[i], parts_[shorter], length_of_bars(parts_[i]), length);
    const std::string name = name_of(guesses_[shorter]);
    if (sums.are_same()) {
      return pass_over(i, Sure::likely,
                       "passed over: over " + std::to_string(sums.intervals) + " intervals its volume is that of " +
                           name + ", which is counted");
    }
    std::string found = "bars of two lengths come for the same symbols";
    if (sums.intervals > 0)
      found += "; over " + std::to_string(sums.intervals) + " same intervals these have " + whole(sums.bars) +
               " shares and " + name + " " + whole(sums.parts);
    pass_over(i, Sure::likely, "passed over beside " + name + ": " + found);
    guesses_[shorter].sure = Sure::likely;
    guesses_[i].question = found + "; which is to be counted? As proposed " + name + " is, and these are passed over";
  }

  void pass_over_told_again() {
    for (std::size_t i = 0; i < guesses_.size(); ++i) {
      for (std::size_t other = 0; other < guesses_.size(); ++other) {
        const bool trades = guesses_[i].kind == MessageKind::trade && guesses_[other].kind == MessageKind::trade;
        if (i != other && trades && is_apart(i, other) && says_less(i, other)) compare_trades(i, other);
      }
    }
  }

  /// Of two sorts of trades the one with a number of each trade, and conditions, is kept.
  [[nodiscard]] bool says_less(std::size_t i, std::size_t other) const {
    const auto worth = [](const SortGuess& guess) {
      return 4 * guess.fields.count(Field::id) + 2 * guess.fields.count(Field::conditions) +
             guess.fields.count(Field::time);
    };
    const auto one = worth(guesses_[i]), two = worth(guesses_[other]);
    return one == two ? i > other : one < two;
  }

  void compare_trades(std::size_t i, std::size_t other) {
    constexpr std::size_t kProof = 5;
    std::map<std::tuple<std::string, double, double>, std::size_t> theirs;
    for (const VolumeAt& part : parts_[other]) ++theirs[{part.symbol, part.price, part.shares}];
    std::size_t common = 0;
    for (const VolumeAt& part : parts_[i]) {
      const auto found = theirs.find({part.symbol, part.price, part.shares});
      if (found == theirs.end() || found->second == 0) continue;
      --found->second;
      ++common;
    }
    if (common < kProof || 10 * common < 8 * std::min(parts_[i].size(), parts_[other].size())) return;
    const SortGuess& kept = guesses_[other];
    const std::string found =
        std::to_string(common) + " of its " + std::to_string(parts_[i].size()) + " trades come in " +
        (kept.sort.word.empty() ? "messages of another form" : "\"" + kept.sort.word + "\"") + " too";
    pass_over(i, Sure::likely, "passed over: " + found);
    guesses_[i].question = found + ", and would count twice; are they the same?";
  }

  std::vector<SortGuess>& guesses_;
  std::vector<std::vector<VolumeAt>> parts_;  ///< of each sort
};

}  // namespace

void count_volume_once(const std::vector<Record>& records, std::vector<SortGuess>& guesses) {
  split_bars(records, guesses);
  Counting(records, guesses).settle();
}

}  // namespace brimwatch
