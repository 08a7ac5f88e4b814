#include "weekend/finder.h"

#include <algorithm>
#include <cmath>

#include "crossings/plain_high.h"

namespace brimwatch {
namespace {

std::int64_t high(Bars bars, int i) { return bars[static_cast<std::size_t>(i)].high.micros; }
std::int64_t low(Bars bars, int i) { return bars[static_cast<std::size_t>(i)].low.micros; }
std::int64_t close(Bars bars, int i) { return bars[static_cast<std::size_t>(i)].close.micros; }
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

double fall(std::int64_t from, std::int64_t to) { return std::log(ratio(from, to)); }

/// One session made so much of the fall from `rim` to `bottom` that it is a cliff and no side of a base.
bool has_cliff(Bars bars, int rim, int bottom, const RuleBook& book) {
  const double most = book.cliff_most / 100 * fall(high(bars, rim), low(bars, bottom));
  for (int i = rim + 1; i <= bottom; ++i) {
    if (fall(close(bars, i - 1), close(bars, i)) >= most) return true;
  }
  return false;
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

bool has_two_legs(std::int64_t rim, std::int64_t first, std::int64_t middle, std::int64_t second, const RuleBook& book) {
  const double left = fall(rim, first), right = fall(middle, second);
  return depth(rim, first) >= book.first_leg_least &&
         100 * std::min(left, right) >= book.legs_ratio_least * std::max(left, right);
}

bool is_double_bottom(Bars bars, const Base& turn, const RuleBook& book) {
  const std::int64_t rim = high(bars, turn.start), middle = high(bars, turn.peak);
  const std::int64_t first = low(bars, turn.low), second = low(bars, turn.second);
  const double deep = depth(rim, std::min(first, second));
  const double off = 100 * (ratio(second, first) - 1);
  return middle < rim && 100 * ratio(middle - first, rim - first) >= book.middle_least && off >= -book.second_under &&
         off <= book.second_over && turn.second - turn.low >= book.bottoms_apart &&
         2 * close(bars, turn.last) >= second + middle && has_two_legs(rim, first, middle, second, book) &&
         deep >= book.shape_w_depth_least && deep <= book.shape_w_depth_most &&
         turn.last - turn.start + 1 >= book.shape_w_length;
}

void add_turn(Bars bars, Base turn, const RuleBook& book, std::vector<Base>& out) {
  const bool cup = is_cup(bars, turn, book), twice = is_double_bottom(bars, turn, book);
  if ((!cup && !twice) || has_cliff(bars, turn.start, turn.low, book)) return;
  turn.kind = BaseKind::cup_with_handle;
  if (cup) out.push_back(turn);
  turn.kind = BaseKind::double_bottom;
  if (twice) out.push_back(turn);
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

/// A cup whose right side is still climbing: nothing since has traded above its rim, and no handle has begun.
bool is_open_cup(Bars bars, const Base& cup, const RuleBook& book) {
  const std::int64_t rim = high(bars, cup.start), bottom = low(bars, cup.low);
  const double deep = depth(rim, bottom);
  const auto climbed = static_cast<double>(close(bars, cup.last) - bottom);
  return cup.low < cup.last && deep >= book.shape_cup_depth_least && deep <= book.shape_cup_depth_most &&
         100 * climbed >= book.climbed_least * static_cast<double>(rim - bottom) &&
         cup.last - cup.start + 1 >= book.shape_cup_length &&
         cup.last - highest(bars, cup.low + 1, cup.last) + 1 < book.handle_least;
}

void find_cups(Bars bars, const RuleBook& book, Rims& rims, std::vector<Base>& out) {
  const int last = static_cast<int>(bars.size()) - 1;
  std::int64_t top = high(bars, last);  // highest high after a
  int bottom = last;                    // first bar of the lowest low of (a, last]
  for (int a = last - 1; a >= std::max(0, last - book.length_most + 1); --a) {
    const Base cup{BaseKind::cup, a, bottom, a, bottom, last};
    if (high(bars, a) >= top && low(bars, a) > low(bars, bottom) && is_open_cup(bars, cup, book) && rims.at(a) &&
        !has_cliff(bars, a, bottom, book)) {
      out.push_back(cup);
    }
    top = std::max(top, high(bars, a));
    if (low(bars, a) <= low(bars, bottom)) bottom = a;
  }
}

/// The advance has ended: no higher high for so many sessions.
bool has_settled(Bars bars, int start, const RuleBook& book) {
  const int end = std::min(start + book.settled, static_cast<int>(bars.size()) - 1);
  return high(bars, highest(bars, start, end)) <= high(bars, start);
}

void find_plain(Bars bars, const RuleBook& book, std::vector<Base>& out) {
  const int last = static_cast<int>(bars.size()) - 1;
  const auto found = plain_high(bars, last, Price{std::llround(book.offset * kMicrosPerUnit)});
  if (!found) return;
  const int under = lowest(bars, found->peak + 1, last);
  out.push_back({BaseKind::no_base, last - kPlainSessions + 1, under, found->peak, under, last});
}

void find_flat(Bars bars, const RuleBook& book, Rims& rims, std::vector<Base>& out) {
  const int last = static_cast<int>(bars.size()) - 1;
  int top = last, bottom = last;
  for (int s = last; s >= std::max(0, last - book.length_most + 1); --s) {
    if (high(bars, s) >= high(bars, top)) top = s;
    if (low(bars, s) <= low(bars, bottom)) bottom = s;
    if (depth(high(bars, top), low(bars, bottom)) > book.shape_flat_depth) return;
    if (last - s + 1 < book.shape_flat_length || last - top < book.settled) continue;
    if (100 * (1 - ratio(high(bars, s), high(bars, top))) > book.flat_slack || !has_settled(bars, s, book) || !rims.at(s))
      continue;
    out.push_back({BaseKind::flat_base, s, bottom, top, bottom, last});
  }
}

}  // namespace

std::string_view to_string(BaseKind kind) {
  switch (kind) {
    case BaseKind::cup_with_handle:
      return "cup with handle";
    case BaseKind::cup:
      return "cup";
    case BaseKind::double_bottom:
      return "double bottom";
    case BaseKind::flat_base:
      return "flat base";
    case BaseKind::no_base:
      return "no base";
  }
  return "";
}

std::vector<Base> find_bases(std::span<const DailyBar> bars, const RuleBook& book) {
  std::vector<Base> out;
  if (bars.size() < 2) return out;
  Rims rims(bars, book);
  find_turns(bars, book, rims, out);
  find_cups(bars, book, rims, out);
  find_flat(bars, book, rims, out);
  find_plain(bars, book, out);
  std::sort(out.begin(), out.end());
  return out;
}

Base base_from_points(std::span<const DailyBar> bars, int start, int peak) {
  const int last = static_cast<int>(bars.size()) - 1;
  const int at = lowest(bars, start, peak);
  const int second = lowest(bars, std::min(peak + 1, last), last);
  const bool deep = 2 * low(bars, second) < high(bars, start) + low(bars, at);
  return {deep ? BaseKind::double_bottom : BaseKind::cup_with_handle, start, at, peak, second, last};
}

Base flat_from_start(std::span<const DailyBar> bars, int start) {
  const int last = static_cast<int>(bars.size()) - 1;
  const int bottom = lowest(bars, start, last);
  return {BaseKind::flat_base, start, bottom, highest(bars, start, last), bottom, last};
}

}  // namespace brimwatch
