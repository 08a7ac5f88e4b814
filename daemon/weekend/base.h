#pragma once
// The kinds of base, and the points that make one. The definitions that finder.h looks for stand here, and a slow,
// obvious check of the same sentences stands in the tests; the two must agree.
//
// H, L, C are the highs, lows and closes of the bars 0..T; T is the last bar. All lengths are in sessions. Numbers in
// capitals are configuration (rulebook.h).
//
// A rim is a bar `a` with H[a] > H[i] for the RIM_CLEAR bars i before it, and a rise of at least SHAPE_RISE from the
// lowest low of the RISE_WITHIN bars before it: the top of an advance.
//
// A turn is a pair (a, r), a < r < T, with
//   a is a rim;
//   r >= T - TURN_WITHIN; H[i] <= H[r] for every i > r: nothing since has traded above r;
//   b = the first bar of the lowest low of [a, r], and a < b < r;
//   H[i] <= H[a] for i in (a, b]: the fall begins at a;
//   H[i] <  H[r] for i in (b, r): r is where the rise from b first got to its top;
//   T - a + 1 <= LENGTH_MOST;
//   no cliff: ln(C[i-1] / C[i]) < CLIFF_MOST x ln(H[a] / L[b]) for every i in (a, b].
// depth = 1 - L[b] / H[a]. q = the first bar of the lowest low of (r, T]: the low of
// the peak's own day may well have come before its high.
//
// Cup with handle: a turn with
//   H[r] <= H[a] * (1 + RIM_ABOVE), and H[r] in the upper half of the cup: H[r] >= (H[a] + L[b]) / 2;
//   handle length T - r + 1 in [HANDLE_LEAST, HANDLE_MOST]; handle depth 1 - L[q] / H[r] <= SHAPE_HANDLE_DEPTH;
//   L[q] > L[b]: the handle stands above the cup's bottom;
//   SHAPE_CUP_DEPTH_LEAST <= depth <= SHAPE_CUP_DEPTH_MOST; length T - a + 1 >= SHAPE_CUP_LENGTH.
//   The pivot's peak is H[r].
//
// Cup, without a handle: a rim `a` with, over [a, T],
//   b = the first bar of the lowest low, a < b < T; H[i] <= H[a] for i in (a, T]; no cliff;
//   r = the first bar of the highest high of (b, T], T - r + 1 < HANDLE_LEAST: it is still climbing, no handle has begun;
//   C[T] >= L[b] + CLIMBED_LEAST x (H[a] - L[b]): most of the fall is won back;
//   SHAPE_CUP_DEPTH_LEAST <= depth <= SHAPE_CUP_DEPTH_MOST; SHAPE_CUP_LENGTH <= T - a + 1 <= LENGTH_MOST.
//   The pivot's peak is H[a].
//
// Double bottom: a turn with
//   H[r] < H[a], and (H[r] - L[b]) >= MIDDLE_LEAST * (H[a] - L[b]): the middle peak is a real rise, under the rim;
//   the first fall 1 - L[b] / H[a] is at least FIRST_LEG_LEAST, and of the falls ln(H[a] / L[b]) and ln(H[r] / L[q]) the
//   smaller is at least LEGS_RATIO_LEAST of the larger;
//   L[q] within [L[b] * (1 - SECOND_UNDER), L[b] * (1 + SECOND_OVER)]; q - b >= BOTTOMS_APART;
//   C[T] >= (L[q] + H[r]) / 2: back in the upper half of the last leg;
//   depth from H[a] to the lower of the two lows in [SHAPE_W_DEPTH_LEAST, SHAPE_W_DEPTH_MOST]; length >= SHAPE_W_LENGTH.
//   The pivot's peak is H[r], the middle one.
//
// Flat base: a rim s with, over [s, T],
//   length T - s + 1 in [SHAPE_FLAT_LENGTH, LENGTH_MOST];
//   p = the first bar of the highest high, T - p >= SETTLED; H[s] >= H[p] * (1 - FLAT_SLACK);
//   H[i] <= H[s] for i in (s, s + SETTLED]: the advance has ended, the base does not swallow the end of it;
//   depth 1 - min L / H[p] <= SHAPE_FLAT_DEPTH.
//   The pivot's peak is H[p].
//
// No base: the plain high of the last fifty sessions (crossings/plain_high.h), the yardstick of all others.
//   p = the first bar of the highest high of [T - 49, T], T - p >= 5; H[p] + offset > C[T]; q = the first bar of the
//   lowest low of (p, T]. The pivot's peak is H[p].
#include <array>
#include <cstdint>
#include <string_view>

namespace brimwatch {

enum class BaseKind : std::uint8_t { cup_with_handle, cup, double_bottom, flat_base, no_base };
constexpr int kBaseKinds = 5;
constexpr std::array<BaseKind, kBaseKinds> kAllBaseKinds = {
    BaseKind::cup_with_handle, BaseKind::cup, BaseKind::double_bottom, BaseKind::flat_base, BaseKind::no_base};

/// "cup with handle", "cup", "double bottom", "flat base", "no base".
[[nodiscard]] std::string_view to_string(BaseKind kind);

/// Indices into the bars.
struct Base {
  BaseKind kind = BaseKind::flat_base;
  int start = 0;   ///< the rim: a or s; no base: T - 49
  int low = 0;     ///< b; flat base: first bar of its lowest low; no base: q
  int peak = 0;    ///< the bar whose high makes the pivot: a, r or p
  int second = 0;  ///< q: the handle's low, the second bottom; the others: same as low
  int last = 0;    ///< T

  constexpr auto operator<=>(const Base&) const = default;
};

}  // namespace brimwatch
