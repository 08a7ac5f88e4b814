#include "weekend/finder.h"

#include <algorithm>
#include <limits>

namespace brimwatch {
namespace {

using Bars = std::span<const DayBar>;

std::int64_t high(Bars bars, int i) { return bars[static_cast<std::size_t>(i)].high.micros; }
std::int64_t low(Bars bars, int i) { return bars[static_cast<std::size_t>(i)].low.micros; }
double ratio(std::int64_t a, std::int64_t b) { return static_cast<double>(a) / static_cast<double>(b); }
double depth(std::int64_t top, std::int64_t bottom) { return 100 * (1 - ratio(bottom, top)); }

int lowest(Bars bars, int from, int to) {
  int at = from;
  for (int i = from + 1; i <= to; ++i) at = low(bars, i) < low(bars, at) ? i : at;
  return at;
}

int highest(Bars bars, int from, int to) {
  int at = from;
  for (int i = from + 1; i <= to; ++i) at = high(bars, i) > high(bars, at) ? i : at;
  return at;
}

/// Which bars are rims, answered once a bar.
class Rims {
 public:
  Rims(Bars bars, const RuleBook& book) : bars_(bars), book_(book), known_(bars.size(), kUnknown) {}

  bool at(int a) {
    auto& known = known_[static_cast<std::size_t>(a)];
    if (known == kUnknown) known = check(a) ? kYes : kNo;
    return known == kYes;
  }

 private:
  enum : char { kUnknown, kNo, kYes };

  [[nodiscard]] bool check(int a) const {
    for (int i = a - 1; i >= std::max(0, a - book_.rim_clear); --i) {
      if (high(bars_, i) >= high(bars_, a)) return false;
    }
    const int from = std::max(0, a - book_.rise_within);
    if (from == a) return false;
    const std::int64_t bottom = low(bars_, lowest(bars_, from, a - 1));
    return 100 * (ratio(high(bars_, a), bottom) - 1) >= book_.shape_rise;
  }

  Bars bars_;
  const RuleBook& book_;
  std::vector<char> known_;
};

bool is_cup(Bars bars, const Base& turn, const RuleBook& book) {
  const std::int64_t rim = high(bars, turn.start), right = high(bars, turn.peak), bottom = low(bars, turn.low);
  const int handle = turn.last - turn.peak + 1;
  const double deep = depth(rim, bottom);
  return 100 * (ratio(right, rim) - 1) <= book.rim_above && 2 * right >= rim + bottom &&
         low(bars, turn.second) > bottom && handle >= book.handle_least && handle <= book.handle_most &&
         depth(right, low(bars, turn.second)) <= book.shape_handle_depth && deep >= book.shape_cup_depth_least &&
         deep <= book.shape_cup_depth_most && turn.last - turn.start + 1 >= book.shape_cup_length;
}

bool is_double_bottom(Bars bars, const Base& turn, const RuleBook& book) {
  const std::int64_t rim = high(bars, turn.start), middle = high(bars, turn.peak);
  const std::int64_t first = low(bars, turn.low), second = low(bars, turn.second);
  const double deep = depth(rim, std::min(first, second));
  const double off = 100 * (ratio(second, first) - 1);
  const std::int64_t close = bars[static_cast<std::size_t>(turn.last)].close.micros;
  return middle < rim && 100 * ratio(middle - first, rim - first) >= book.middle_least && off >= -book.second_under &&
         off <= book.second_over && turn.second - turn.low >= book.bottoms_apart && 2 * close >= second + middle &&
         deep >= book.shape_w_depth_least && deep <= book.shape_w_depth_most &&
         turn.last - turn.start + 1 >= book.shape_w_length;
}

void add_turn(Bars bars, Base turn, const RuleBook& book, std::vector<Base>& out) {
  turn.kind = BaseKind::cup_with_handle;
  if (is_cup(bars, turn, book)) out.push_back(turn);
  turn.kind = BaseKind::double_bottom;
  if (is_double_bottom(bars, turn, book)) out.push_back(turn);
}

/// Walks left from the turn's right bar, keeping what the definition asks of the bars passed so far.
void turns_at(Bars bars, int right, const RuleBook& book, Rims& rims, std::vector<Base>& out) {
  const int last = static_cast<int>(bars.size()) - 1;
  Base turn{BaseKind::cup_with_handle, 0, right, right, lowest(bars, right + 1, last), last};
  std::int64_t falling = 0;  // highest high in (a, low], `right` itself left out
  std::int64_t rising = 0;   // highest high in (low, right)
  for (int a = right - 1; a >= std::max(0, last - book.length_most + 1); --a) {
    if (low(bars, a) > low(bars, turn.low)) {
      turn.start = a;
      if (turn.low < right && high(bars, a) >= falling && rims.at(a)) add_turn(bars, turn, book, out);
      falling = std::max(falling, high(bars, a));
    } else {
      rising = std::max(rising, falling);
      if (rising >= high(bars, right)) return;
      turn.low = a;
      falling = high(bars, a);
    }
  }
}

void find_turns(Bars bars, const RuleBook& book, Rims& rims, std::vector<Base>& out) {
  const int last = static_cast<int>(bars.size()) - 1;
  std::int64_t after = high(bars, last);  // highest high after r
  for (int r = last - 1; r >= std::max(1, last - book.turn_within); --r) {
    if (high(bars, r) >= after) turns_at(bars, r, book, rims, out);
    after = std::max(after, high(bars, r));
  }
}

void find_flat(Bars bars, const RuleBook& book, Rims& rims, std::vector<Base>& out) {
  const int last = static_cast<int>(bars.size()) - 1;
  int top = last, bottom = last;
  for (int s = last; s >= std::max(0, last - book.length_most + 1); --s) {
    if (high(bars, s) >= high(bars, top)) top = s;
    if (low(bars, s) <= low(bars, bottom)) bottom = s;
    if (depth(high(bars, top), low(bars, bottom)) > book.shape_flat_depth) return;
    if (last - s + 1 < book.shape_flat_length || last - top < book.settled) continue;
    if (100 * (1 - ratio(high(bars, s), high(bars, top))) > book.flat_slack || !rims.at(s)) continue;
    out.push_back({BaseKind::flat_base, s, bottom, top, bottom, last});
  }
}

}  // namespace

std::string_view to_string(BaseKind kind) {
  switch (kind) {
    case BaseKind::cup_with_handle:
      return "cup with handle";
    case BaseKind::double_bottom:
      return "double bottom";
    case BaseKind::flat_base:
      return "flat base";
  }
  return "";
}

std::vector<Base> find_bases(std::span<const DayBar> bars, const RuleBook& book) {
  std::vector<Base> out;
  if (bars.size() < 2) return out;
  Rims rims(bars, book);
  find_turns(bars, book, rims, out);
  find_flat(bars, book, rims, out);
  std::sort(out.begin(), out.end());
  return out;
}

Base base_from_points(std::span<const DayBar> bars, int start, int peak) {
  const int last = static_cast<int>(bars.size()) - 1;
  const int at = lowest(bars, start, peak);
  const int second = lowest(bars, std::min(peak + 1, last), last);
  const bool deep = 2 * low(bars, second) < high(bars, start) + low(bars, at);
  return {deep ? BaseKind::double_bottom : BaseKind::cup_with_handle, start, at, peak, second, last};
}

Base flat_from_start(std::span<const DayBar> bars, int start) {
  const int last = static_cast<int>(bars.size()) - 1;
  const int bottom = lowest(bars, start, last);
  return {BaseKind::flat_base, start, bottom, highest(bars, start, last), bottom, last};
}

}  // namespace brimwatch
