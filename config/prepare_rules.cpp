#include "config/prepare_rules.h"

namespace brimwatch {
namespace {

using B = RuleBook;

// clang-format off
constexpr RuleKey kKeys[] = {
    {"rim_clear", &B::rim_clear, 1, 400, "sessions before a base's start that must stand under it (house)"},
    {"rise_within", &B::rise_within, 5, 400, "sessions before the start in which the prior rise is measured (house)"},
    {"shape_rise", &B::shape_rise, 0, 1000, "prior rise without which nothing is a base, % (house)"},
    {"turn_within", &B::turn_within, 5, 400, "a handle or second leg begins at most so many sessions ago (house)"},
    {"length_most", &B::length_most, 20, 1000, "longest base, sessions: 65 weeks"},
    {"rim_above", &B::rim_above, 0, 50, "how far a handle's high may stand above the cup's start, % (house)"},
    {"handle_least", &B::handle_least, 2, 100, "shortest handle, sessions: one week"},
    {"handle_most", &B::handle_most, 5, 400, "longest handle, sessions (house)"},
    {"shape_handle_depth", &B::shape_handle_depth, 1, 90, "deepest handle that is still shown, % (house)"},
    {"shape_cup_depth_least", &B::shape_cup_depth_least, 0, 90, "shallowest cup that is still shown, % (house)"},
    {"shape_cup_depth_most", &B::shape_cup_depth_most, 1, 90, "deepest cup that is still shown, %"},
    {"shape_cup_length", &B::shape_cup_length, 10, 400, "shortest cup that is still shown, handle included, sessions (house)"},
    {"middle_least", &B::middle_least, 1, 100, "how much of the first fall the middle peak must win back, % (house)"},
    {"second_under", &B::second_under, 0, 50, "how far the second low may stand under the first, % (house)"},
    {"second_over", &B::second_over, 0, 50, "how far the second low may stand above the first, % (house)"},
    {"bottoms_apart", &B::bottoms_apart, 2, 400, "sessions between the two lows (house)"},
    {"shape_w_depth_least", &B::shape_w_depth_least, 0, 90, "shallowest double bottom that is still shown, % (house)"},
    {"shape_w_depth_most", &B::shape_w_depth_most, 1, 90, "deepest double bottom that is still shown, %"},
    {"shape_w_length", &B::shape_w_length, 10, 400, "shortest double bottom that is still shown, sessions (house)"},
    {"shape_flat_length", &B::shape_flat_length, 5, 400, "shortest flat base that is still shown, sessions (house)"},
    {"settled", &B::settled, 1, 100, "sessions since a flat base's high (house)"},
    {"flat_slack", &B::flat_slack, 0, 20, "how far a flat base's start may stand under its high, % (house)"},
    {"shape_flat_depth", &B::shape_flat_depth, 1, 90, "deepest flat base that is still shown, % (house)"},

    {"rise_least", &B::rise_least, 0, 1000, "prior rise before a base, %"},
    {"flat_rise_least", &B::flat_rise_least, 0, 1000, "prior rise before a flat base, %"},
    {"cup_depth_least", &B::cup_depth_least, 0, 90, "shallowest cup, %"},
    {"cup_depth_most", &B::cup_depth_most, 1, 90, "deepest cup in a normal market, %"},
    {"depth_most_index_fell", &B::depth_most_index_fell, 1, 90, "deepest base when the index fell hard, %"},
    {"depth_little_more", &B::depth_little_more, 0, 50, "and a little more than that, % points (house)"},
    {"index_fell", &B::index_fell, 1, 90, "fall of the index that counts as hard, %: a correction"},
    {"cup_length_least", &B::cup_length_least, 10, 400, "shortest cup, handle included, sessions: seven weeks"},
    {"handle_depth_most", &B::handle_depth_most, 1, 90, "what a handle may give back, %"},
    {"handle_volume_most", &B::handle_volume_most, 1, 1000, "light volume in a handle: mean against the 50 sessions before, % (house)"},
    {"bottom_sessions_least", &B::bottom_sessions_least, 0, 400, "closes in the lower third that make a bottom round, sessions (house)"},
    {"w_depth_least", &B::w_depth_least, 0, 90, "shallowest double bottom, %"},
    {"w_depth_most", &B::w_depth_most, 1, 90, "deepest double bottom in a normal market, %"},
    {"w_length_least", &B::w_length_least, 10, 400, "shortest double bottom, sessions: seven weeks"},
    {"flat_length_least", &B::flat_length_least, 5, 400, "shortest flat base, sessions: five weeks"},
    {"flat_depth_most", &B::flat_depth_most, 1, 90, "deepest flat base, %"},
    {"quiet_most", &B::quiet_most, 1, 1000, "volume dries up: quietest five sessions against normal volume, % (house)"},
    {"up_down_least", &B::up_down_least, 0, 100, "volume of up days / volume of down days, 50 sessions"},
    {"strength_place_least", &B::strength_place_least, 0, 100, "place of the relative strength line in its 52 weeks, % (house)"},

    {"weight_rise", &B::weight_rise, 0, 100, "points for the prior rise (all weights: house)"},
    {"weight_depth", &B::weight_depth, 0, 100, "points for the depth"},
    {"weight_length", &B::weight_length, 0, 100, "points for the length"},
    {"weight_handle_place", &B::weight_handle_place, 0, 100, "points for a handle in the upper half"},
    {"weight_handle_depth", &B::weight_handle_depth, 0, 100, "points for a shallow handle"},
    {"weight_handle_volume", &B::weight_handle_volume, 0, 100, "points for a handle on light volume"},
    {"weight_handle_drift", &B::weight_handle_drift, 0, 100, "points for a handle that drifts down or sideways"},
    {"weight_round", &B::weight_round, 0, 100, "points for a round bottom"},
    {"weight_undercut", &B::weight_undercut, 0, 100, "points for a second low under the first"},
    {"weight_flat_place", &B::weight_flat_place, 0, 100, "points for a last close in the upper half of a flat base"},
    {"weight_quiet", &B::weight_quiet, 0, 100, "points for volume that dries up"},
    {"weight_up_down", &B::weight_up_down, 0, 100, "points for more volume on up days"},
    {"weight_strength", &B::weight_strength, 0, 100, "points for a strong relative strength line"},

    {"offset", &B::offset, 0, 100, "pivot above the peak, in the currency: ten cents"},
    {"tick_size", &B::tick_size, 0.000001, 100, "adjusted pivots are rounded to it"},
    {"score_least", &B::score_least, 0, 100, "a base under this score is not put on the list (house)"},
    {"core_needed", &B::core_needed, 0, 1, "1: a base that breaks prior rise, depth, length or the handle's place is not listed (house)"},
    {"per_symbol", &B::per_symbol, 1, 3, "most bases of one symbol on the list (house)"},
    {"price_least", &B::price_least, 0, 1e6, "lowest last close of a stock to look at"},
    {"volume_least", &B::volume_least, 0, 1e12, "lowest normal volume of a stock to look at, shares"},
    {"keep_days", &B::keep_days, 1, 1000, "days that a watch stays on the list (house)"},
    {"report_days", &B::report_days, 0, 365, "an earnings report so many days ahead is near (house)"},
    {"dividend_least", &B::dividend_least, 0, 100, "a dividend of so much of the price adjusts pivots and history, % (house)"},
    {"loss_limit", &B::loss_limit, 0.1, 90, "a close so far under the pivot after crossing it ends a carried watch, %"},
};
// clang-format on

}  // namespace

std::span<const RuleKey> rule_keys() { return kKeys; }

}  // namespace brimwatch
