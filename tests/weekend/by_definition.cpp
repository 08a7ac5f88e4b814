#include "by_definition.h"

#include <algorithm>
#include <cmath>

namespace brimwatch::testing_support {
namespace {

class Definition {
 public:
  Definition(const std::vector<DailyBar>& bars, const RuleBook& book) : bars_(bars), book_(book) {}

  [[nodiscard]] int last() const { return static_cast<int>(bars_.size()) - 1; }
  [[nodiscard]] double H(int i) const { return static_cast<double>(bars_[static_cast<std::size_t>(i)].high.micros); }
  [[nodiscard]] double L(int i) const { return static_cast<double>(bars_[static_cast<std::size_t>(i)].low.micros); }
  [[nodiscard]] double C(int i) const { return static_cast<double>(bars_[static_cast<std::size_t>(i)].close.micros); }

  [[nodiscard]] bool rim(int a) const {
    for (int i = std::max(0, a - book_.rim_clear); i < a; ++i) {
      if (!(H(a) > H(i))) return false;
    }
    double bottom = 0;
    for (int i = std::max(0, a - book_.rise_within); i < a; ++i) bottom = bottom == 0 ? L(i) : std::min(bottom, L(i));
    return bottom > 0 && 100 * (H(a) / bottom - 1) >= book_.shape_rise;
  }

  /// First bar of the lowest low of [from, to].
  [[nodiscard]] int first_lowest(int from, int to) const {
    double least = L(from);
    for (int i = from; i <= to; ++i) least = std::min(least, L(i));
    for (int i = from; i <= to; ++i) {
      if (L(i) == least) return i;
    }
    return from;
  }

  [[nodiscard]] bool turn(int a, int r) const {
    if (!rim(a) || r < last() - book_.turn_within || last() - a + 1 > book_.length_most) return false;
    for (int i = r + 1; i <= last(); ++i) {
      if (H(i) > H(r)) return false;
    }
    const int b = first_lowest(a, r);
    if (!(a < b && b < r)) return false;
    for (int i = a + 1; i <= b; ++i) {
      if (H(i) > H(a)) return false;
    }
    for (int i = b + 1; i < r; ++i) {
      if (H(i) >= H(r)) return false;
    }
    return !cliff(a, b);
  }

  [[nodiscard]] bool cliff(int a, int b) const {
    for (int i = a + 1; i <= b; ++i) {
      if (std::log(C(i - 1) / C(i)) >= book_.cliff_most / 100 * std::log(H(a) / L(b))) return true;
    }
    return false;
  }

  /// A cup that is still climbing on the last bar.
  [[nodiscard]] bool open_cup(int a) const {
    const int b = first_lowest(a, last());
    if (!rim(a) || a >= b || b >= last() || cliff(a, b)) return false;
    double top = 0;
    for (int i = a + 1; i <= last(); ++i) {
      if (H(i) > H(a)) return false;
      if (i > b) top = std::max(top, H(i));
    }
    int r = b + 1;
    while (H(r) != top) ++r;
    const int length = last() - a + 1;
    const double depth = 100 * (1 - L(b) / H(a));
    return last() - r + 1 < book_.handle_least && 100 * (C(last()) - L(b)) >= book_.climbed_least * (H(a) - L(b)) &&
           depth >= book_.shape_cup_depth_least && depth <= book_.shape_cup_depth_most &&
           length >= book_.shape_cup_length && length <= book_.length_most;
  }

  /// The bar of the plain high, or -1.
  [[nodiscard]] int plain() const {
    if (last() < 49) return -1;
    double top = 0;
    for (int i = last() - 49; i <= last(); ++i) top = std::max(top, H(i));
    int p = last() - 49;
    while (H(p) != top) ++p;
    return last() - p >= 5 && top + book_.offset * 1e6 > C(last()) ? p : -1;
  }

  [[nodiscard]] bool cup(int a, int r) const {
    const int b = first_lowest(a, r), q = first_lowest(r + 1, last());
    const int handle = last() - r + 1;
    const double depth = 100 * (1 - L(b) / H(a));
    return 100 * (H(r) / H(a) - 1) <= book_.rim_above && H(r) >= (H(a) + L(b)) / 2 && L(q) > L(b) &&
           handle >= book_.handle_least && handle <= book_.handle_most &&
           100 * (1 - L(q) / H(r)) <= book_.shape_handle_depth && depth >= book_.shape_cup_depth_least &&
           depth <= book_.shape_cup_depth_most && last() - a + 1 >= book_.shape_cup_length;
  }

  [[nodiscard]] bool double_bottom(int a, int r) const {
    const int b = first_lowest(a, r), q = first_lowest(r + 1, last());
    const double depth = 100 * (1 - std::min(L(b), L(q)) / H(a));
    const double first = std::log(H(a) / L(b)), second = std::log(H(r) / L(q));
    if (100 * (1 - L(b) / H(a)) < book_.first_leg_least) return false;
    if (100 * std::min(first, second) < book_.legs_ratio_least * std::max(first, second)) return false;
    return H(r) < H(a) && 100 * ((H(r) - L(b)) / (H(a) - L(b))) >= book_.middle_least &&
           100 * (L(q) / L(b) - 1) >= -book_.second_under && 100 * (L(q) / L(b) - 1) <= book_.second_over &&
           q - b >= book_.bottoms_apart && C(last()) >= (L(q) + H(r)) / 2 && depth >= book_.shape_w_depth_least &&
           depth <= book_.shape_w_depth_most && last() - a + 1 >= book_.shape_w_length;
  }

  /// The highest bar, or -1 when [s, T] is no flat base.
  [[nodiscard]] int flat(int s) const {
    const int length = last() - s + 1;
    if (!rim(s) || length < book_.shape_flat_length || length > book_.length_most) return -1;
    for (int i = s + 1; i <= std::min(last(), s + book_.settled); ++i) {
      if (H(i) > H(s)) return -1;
    }
    double top = 0;
    for (int i = s; i <= last(); ++i) top = std::max(top, H(i));
    int p = s;
    while (H(p) != top) ++p;
    const double bottom = L(first_lowest(s, last()));
    const bool is = last() - p >= book_.settled && 100 * (1 - H(s) / H(p)) <= book_.flat_slack &&
                    100 * (1 - bottom / H(p)) <= book_.shape_flat_depth;
    return is ? p : -1;
  }

 private:
  const std::vector<DailyBar>& bars_;
  const RuleBook& book_;
};

}  // namespace

std::vector<Base> bases_by_definition(const std::vector<DailyBar>& bars, const RuleBook& book) {
  const Definition is(bars, book);
  const int last = is.last();
  std::vector<Base> out;
  for (int a = 0; a <= last; ++a) {
    for (int r = a + 1; r < last; ++r) {
      if (!is.turn(a, r)) continue;
      const int b = is.first_lowest(a, r), q = is.first_lowest(r + 1, last);
      if (is.cup(a, r)) out.push_back({BaseKind::cup_with_handle, a, b, r, q, last});
      if (is.double_bottom(a, r)) out.push_back({BaseKind::double_bottom, a, b, r, q, last});
    }
    if (is.open_cup(a)) {
      const int b = is.first_lowest(a, last);
      out.push_back({BaseKind::cup, a, b, a, b, last});
    }
    if (const int p = is.flat(a); p >= 0) {
      const int low = is.first_lowest(a, last);
      out.push_back({BaseKind::flat_base, a, low, p, low, last});
    }
  }
  if (const int p = is.plain(); p >= 0) {
    const int q = is.first_lowest(p + 1, last);
    out.push_back({BaseKind::no_base, last - 49, q, p, q, last});
  }
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace brimwatch::testing_support
