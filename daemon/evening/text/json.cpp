#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "evening/review.h"

namespace brimwatch {
namespace {

using Json = nlohmann::ordered_json;

double tidy(double value) { return std::round(value * 10000) / 10000; }
Json price(const std::optional<Price>& value) {
  return value && value->is_set() ? Json(to_string(*value)) : Json(nullptr);
}
Json number(const std::optional<double>& value) { return value ? Json(tidy(*value)) : Json(nullptr); }
Json between(const Interval& interval) { return Json::array({tidy(interval.low), tidy(interval.high)}); }

Json followed_json(const Followed& f) {
  if (!f.taken) return {{"taken", false}, {"why", f.why}};
  return {{"taken", true},
          {"why", f.why},
          {"bought", to_string(f.bought)},
          {"sold", f.unpriced ? Json(nullptr) : Json(to_string(f.sold))},
          {"sold_on", to_string(f.sold_on)},
          {"open", f.open},
          {"at_loss_limit", f.at_limit},
          {"result", tidy(f.result)},
          {"index", number(f.index)}};
}

std::string_view word_for(CameFirst first) {
  switch (first) {
    case CameFirst::neither:
      return "neither";
    case CameFirst::up20:
      return "up20";
    case CameFirst::down8:
      return "down8";
  }
  return "";
}

Json crossing_json(const Crossing& one) {
  const Notice& said = one.said.notice;
  Json out = {{"id", one.said.id},
              {"day", to_string(said.day)},
              {"time", to_rfc3339(said.time, one.said.offset)},
              {"symbol", one.said.symbol},
              {"kind", to_string(said.kind)},
              {"pivot", to_string(said.pivot)},
              {"price", to_string(said.price)}};
  if (!one.speaker.empty()) out["said_by"] = one.speaker;
  const bool judged = said.volume.weight != Weight::unknown;
  out["weight"] = judged ? Json(to_string(said.volume.weight)) : Json(nullptr);
  out["odds"] = judged ? Json(tidy(said.volume.odds)) : Json(nullptr);
  out["projected_volume"] = judged ? Json(std::llround(said.volume.projected)) : Json(nullptr);
  if (judged && said.volume.minutes >= 0) {
    out["minutes"] = tidy(said.volume.minutes);
    out["gap"] = said.volume.gap >= 0 ? Json(tidy(said.volume.gap)) : Json(nullptr);
    out["lift"] = tidy(said.volume.lift);
    out["own_lift"] = tidy(said.volume.own_lift);
  }
  out["volume"] = one.volume ? Json(std::llround(*one.volume)) : Json(nullptr);
  out["volume_official"] = one.official;
  if (part_of_tape(said.volume) != 1) out["feed_ratio"] = tidy(said.volume.feed_ratio);
  out["surge"] = number(one.surge);
  out["needed_surge"] = said.volume.needed;
  out["came"] = one.came ? Json(*one.came) : Json(nullptr);
  out["in_interval"] = one.in_interval;
  out["close"] = price(one.close);
  out["closed"] = to_string(one.closed);
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    const auto& swing = one.after[i];
    out["after_" + std::to_string(kSpans[i])] = swing ? Json{{"rise", tidy(swing->rise)},
                                                             {"fall", tidy(swing->fall)},
                                                             {"close", tidy(swing->close)},
                                                             {"index", number(swing->index)}}
                                                      : Json(nullptr);
  }
  out["adjusted"] = one.adjusted.empty() ? Json(nullptr) : Json(one.adjusted);
  out["doubt"] = one.doubt.empty() ? Json(nullptr) : Json(one.doubt);
  out["first"] = one.first ? Json(word_for(*one.first)) : Json(nullptr);
  out["followed"] = followed_json(one.followed);
  return out;
}

Json weight_json(const WeightGroup& g) {
  return {{"count", g.count},
          {"decided", g.came.of},
          {"came", g.came.hits},
          {"came_between", between(g.came.between)},
          {"closed_known", g.held.of},
          {"held_pivot", g.held.hits},
          {"held_between", between(g.held.between)}};
}

Json weights_json(const Review& review) {
  Json out = Json::array();
  for (const WeightGroup& g : review.weights) {
    Json row = {{"weight", to_string(g.weight)}};
    row.update(weight_json(g));
    out.push_back(std::move(row));
  }
  return out;
}

Json after_json(const Aftermath& after) {
  return {{"decided", after.up20.of},
          {"up20_first", after.up20.hits},
          {"up20_between", between(after.up20.between)},
          {"down8_first", after.down8.hits},
          {"down8_between", between(after.down8.between)},
          {"swings", after.swings},
          {"best", number(after.best)},
          {"worst", number(after.worst)}};
}

/// Shares as fractions.
Json base_json(const BaseRates& base) {
  if (base.from.empty()) return nullptr;
  Json out = {{"from", base.from},
              {"own", base.own},
              {"crossings", base.crossings},
              {"held_pivot", tidy(base.held)},
              {"surge", tidy(base.surge)},
              {"up20_first", tidy(base.up20)},
              {"down8_first", tidy(base.down8)},
              {"best", number(base.best)},
              {"worst", number(base.worst)},
              {"followed", nullptr}};
  if (base.following)
    out["followed"] = {{"purchases", base.following->purchases},
                       {"mean", tidy(base.following->mean)},
                       {"won", tidy(base.following->won)}};
  return out;
}

Json reliability_json(const Reliability& r) {
  Json out = {{"count", r.count},
              {"days", r.days},
              {"brier", tidy(r.brier)},
              {"brier_skill", tidy(r.brier_skill)},
              {"said", tidy(r.said)},
              {"came_true", tidy(r.share)},
              {"verdict", describe_drift(r)},
              {"rows", Json::array()}};
  for (const ReliabilityRow& row : r.rows) {
    if (row.count == 0) continue;
    out["rows"].push_back({{"from", row.from},
                           {"to", row.to},
                           {"count", row.count},
                           {"came_true", row.came_true},
                           {"said", tidy(row.said)},
                           {"share", tidy(row.share)},
                           {"low", tidy(row.low)},
                           {"high", tidy(row.high)}});
  }
  return out;
}

Json bands_json(const std::vector<OddsBand>& bands) {
  Json out = Json::array();
  for (const OddsBand& band : bands) {
    out.push_back({{"from", std::isfinite(band.from) ? Json(std::max(band.from, 0.0)) : Json(nullptr)},
                   {"to", std::isfinite(band.to) && band.to > 0 ? Json(band.to) : Json(nullptr)},
                   {"count", band.count},
                   {"said", tidy(band.said)},
                   {"came", tidy(band.came.share())},
                   {"came_between", between(band.came.between)}});
  }
  return out;
}

/// A gap that was not known has neither end.
Json at_crossings_json(const OddsAtCrossings& odds) {
  return {{"by_minute", bands_json(odds.by_minute)},
          {"by_gap", bands_json(odds.by_gap)},
          {"unknown", odds.unknown},
          {"with_own_lift", odds.with_own}};
}

Json sale_json(const DeedSale& sale) {
  const Answer& sold = sale.sold;
  return {{"sold", sold.price.is_set() ? Json(sold.price.as_double()) : Json(nullptr)},
          {"sold_on", to_string(sold.day)},
          {"shares", sold.shares > Shares{} ? Json(sold.shares.as_double()) : Json(nullptr)},
          {"notice", sale.notice_id.empty() ? Json(nullptr) : Json(sale.notice_id)},
          {"seconds_after", sale.notice_id.empty() ? Json(nullptr) : Json(sale.after / kSecond)}};
}

Json deed_json(const Deed& deed) {
  const Answer& bought = deed.bought;
  const bool sold_at = deed.sold && deed.sold->sold.price.is_set();
  Json sales = Json::array();
  for (const DeedSale& part : deed.parts) sales.push_back(sale_json(part));
  if (deed.sold) sales.push_back(sale_json(*deed.sold));
  return {{"symbol", bought.symbol},
          {"bought", bought.price.as_double()},
          {"bought_on", to_string(bought.day)},
          {"shares", bought.shares > Shares{} ? Json(bought.shares.as_double()) : Json(nullptr)},
          {"notice", deed.notice_id.empty() ? Json(nullptr) : Json(deed.notice_id)},
          {"seconds_after", deed.notice_id.empty() ? Json(nullptr) : Json(deed.after / kSecond)},
          {"inside_range", deed.notice_id.empty() ? Json(nullptr) : Json(deed.inside)},
          {"sold", sold_at ? Json(deed.sold->sold.price.as_double()) : Json(nullptr)},
          {"sold_on", deed.sold ? Json(to_string(deed.sold->sold.day)) : Json(nullptr)},
          {"sales", std::move(sales)},
          {"last", deed.last.is_set() ? Json(deed.last.as_double()) : Json(nullptr)},
          {"result", number(deed.result)}};
}

Json summary_json(const FollowSummary& f) {
  return {{"taken", f.taken},
          {"ended", f.ended},
          {"open", f.open},
          {"unpriced", f.unpriced},
          {"at_loss_limit", f.at_limit},
          {"won", f.won.hits},
          {"won_between", between(f.won.between)},
          {"mean", tidy(f.mean)},
          {"median", tidy(f.median)},
          {"worst", tidy(f.worst)},
          {"best", tidy(f.best)},
          {"ended_mean", f.ended > 0 ? Json(tidy(f.ended_mean)) : Json(nullptr)},
          {"open_mean", f.open > 0 ? Json(tidy(f.open_mean)) : Json(nullptr)}};
}

}  // namespace

std::string to_json(const Review& review) {
  Json out = {{"from", to_string(review.options.from)},
              {"to", to_string(review.options.to)},
              {"cost_percent", review.options.cost_percent},
              {"notices", review.notices},
              {"held_back", review.held_back}};
  out["crossings"] = Json::array();
  for (const Crossing& one : review.crossings) out["crossings"].push_back(crossing_json(one));
  out["weights"] = weights_json(review);
  out["all"] = weight_json(review.all);
  out["after"] = after_json(review.after);
  out["base_rates"] = base_json(review.base_rates);
  out["in_interval"] = review.in_interval;
  out["with_interval"] = review.with_interval;
  out["reliability"] = reliability_json(review.reliability);
  out["at_crossings"] = at_crossings_json(review.at_crossings);
  out["followed"] = summary_json(review.followed);
  out["deeds"] = Json::array();
  for (const Deed& deed : review.deeds) out["deeds"].push_back(deed_json(deed));
  out["troubles"] = Json::array();
  for (const DayTrouble& t : review.troubles) {
    out["troubles"].push_back({{"kind", to_string(t.kind)},
                               {"day", to_string(t.day)},
                               {"symbol", t.symbol},
                               {"notice", t.notice_id},
                               {"channel", t.channel},
                               {"why", t.why}});
  }
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace brimwatch
