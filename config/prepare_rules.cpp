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
    {"cliff_most", &B::cliff_most, 1, 100, "no base where one session made so much of the fall from rim to bottom, % (house)"},
    {"climbed_least", &B::climbed_least, 50, 100, "cup without a handle: last close so far up the cup, % (house)"},
    {"middle_least", &B::middle_least, 1, 100, "how much of the first fall the middle peak must win back, % (house)"},
    {"second_under", &B::second_under, 0, 50, "how far the second low may stand under the first, % (house)"},
    {"second_over", &B::second_over, 0, 50, "how far the second low may stand above the first, % (house)"},
    {"bottoms_apart", &B::bottoms_apart, 2, 400, "sessions between the two lows (house)"},
    {"legs_ratio_least", &B::legs_ratio_least, 0, 100, "double bottom: the smaller fall in % of the larger, in logs (house)"},
    {"first_leg_least", &B::first_leg_least, 0, 90, "double bottom: first fall, rim to first low, % (house)"},
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
    {"rising_volume_least", &B::rising_volume_least, 0, 100, "volume on rising days / volume on falling days, 50 sessions"},
    {"strength_place_least", &B::strength_place_least, 0, 100, "place of the relative strength line in its 52 weeks, % (house)"},

    {"up20_level", &B::up20_level, -20, 20, "odds of a rise by a fifth before a fall by 8 in 100: 1 / (1 + exp(-(level + move / ordinary move)))"},
    {"up20_move", &B::up20_move, -50, 50, "the same: weight of 1 / ordinary move"},
    {"down8_level", &B::down8_level, -20, 20, "odds of a fall by 8 in 100 first; `prepare --fit` makes all four from your own bars"},
    {"down8_move", &B::down8_move, -50, 50, "the same: weight of 1 / ordinary move"},
    {"odds_crossings", &B::odds_crossings, 0, 1000000000, "your own crossings that those four stand on; 0: the shipped ones"},

    {"offset", &B::offset, 0, 100, "pivot above the peak, in the currency: ten cents"},
    {"tick_size", &B::tick_size, 0.000001, 100, "adjusted pivots are rounded to it"},
    {"print_most", &B::print_most, 0.5, 100, "a high so many standard deviations of 60 daily moves above its day's body and its neighbours is named as one print's (house)"},
    {"core_needed", &B::core_needed, 0, 1, "1: a base that breaks prior rise, depth, length or the handle's place is not listed (house)"},
    {"broken_most", &B::broken_most, 0, 100, "a base that breaks more of the other rules is not listed (house)"},
    {"plain_listed", &B::plain_listed, 0, 1, "1: where no base is found, the plain high of fifty sessions is listed"},
    {"near", &B::near, 0, 1000, "ordinary moves under its pivot within which a stock is near (house)"},
    {"show", &B::show, 0, 100000, "bases shown on the terminal, the nearest first (house)"},
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
