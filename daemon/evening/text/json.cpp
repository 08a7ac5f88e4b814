#include "core/text/json.h"

#include <algorithm>
#include <cmath>

#include "evening/review.h"

namespace brimwatch {
namespace {

double tidy(double value) { return std::round(value * 10000) / 10000; }
OrderedJson price(const std::optional<Price>& value) {
  return value && value->is_set() ? OrderedJson(to_string(*value)) : OrderedJson(nullptr);
}
OrderedJson number(const std::optional<double>& value) {
  return value ? OrderedJson(tidy(*value)) : OrderedJson(nullptr);
}
OrderedJson between(const Interval& interval) { return OrderedJson::array({tidy(interval.low), tidy(interval.high)}); }

OrderedJson followed_json(const Followed& f) {
  if (!f.taken) return {{"taken", false}, {"why", f.why}};
  return {{"taken", true},
          {"why", f.why},
          {"bought", to_string(f.bought)},
          {"sold", f.unpriced ? OrderedJson(nullptr) : OrderedJson(to_string(f.sold))},
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

OrderedJson crossing_json(const Crossing& one) {
  const Notice& said = one.said.notice;
  OrderedJson out = {{"id", one.said.id},
                     {"day", to_string(said.day)},
                     {"time", to_rfc3339(said.time, one.said.offset)},
                     {"symbol", one.said.symbol},
                     {"kind", to_string(said.kind)},
                     {"pivot", to_string(said.pivot)},
                     {"price", to_string(said.price)}};
  if (!one.speaker.empty()) out["said_by"] = one.speaker;
  const bool judged = said.volume.weight != Weight::unknown;
  out["weight"] = judged ? OrderedJson(to_string(said.volume.weight)) : OrderedJson(nullptr);
  out["odds"] = judged ? OrderedJson(tidy(said.volume.odds)) : OrderedJson(nullptr);
  out["projected_volume"] = judged ? OrderedJson(std::llround(said.volume.projected)) : OrderedJson(nullptr);
  if (judged && said.volume.minutes >= 0) {
    out["minutes"] = tidy(said.volume.minutes);
    out["gap"] = said.volume.gap >= 0 ? OrderedJson(tidy(said.volume.gap)) : OrderedJson(nullptr);
    out["lift"] = tidy(said.volume.lift);
    out["own_lift"] = tidy(said.volume.own_lift);
  }
  out["volume"] = one.volume ? OrderedJson(std::llround(*one.volume)) : OrderedJson(nullptr);
  out["volume_official"] = one.official;
  if (part_of_tape(said.volume) != 1) out["feed_ratio"] = tidy(said.volume.feed_ratio);
  out["surge"] = number(one.surge);
  out["needed_surge"] = said.volume.needed;
  out["came"] = one.came ? OrderedJson(*one.came) : OrderedJson(nullptr);
  out["in_interval"] = one.in_interval;
  out["close"] = price(one.close);
  out["closed"] = to_string(one.closed);
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    const auto& swing = one.after[i];
    out["after_" + std::to_string(kSpans[i])] = swing ? OrderedJson{{"rise", tidy(swing->rise)},
                                                                    {"fall", tidy(swing->fall)},
                                                                    {"close", tidy(swing->close)},
                                                                    {"index", number(swing->index)}}
                                                      : OrderedJson(nullptr);
  }
  out["adjusted"] = one.adjusted.empty() ? OrderedJson(nullptr) : OrderedJson(one.adjusted);
  out["doubt"] = one.doubt.empty() ? OrderedJson(nullptr) : OrderedJson(one.doubt);
  out["first"] = one.first ? OrderedJson(word_for(*one.first)) : OrderedJson(nullptr);
  out["followed"] = followed_json(one.followed);
  return out;
}

OrderedJson weight_json(const WeightGroup& g) {
  return {{"count", g.count},
          {"decided", g.came.of},
          {"came", g.came.hits},
          {"came_between", between(g.came.between)},
          {"closed_known", g.held.of},
          {"held_pivot", g.held.hits},
          {"held_between", between(g.held.between)}};
}

OrderedJson weights_json(const Review& review) {
  OrderedJson out = OrderedJson::array();
  for (const WeightGroup& g : review.weights) {
    OrderedJson row = {{"weight", to_string(g.weight)}};
    row.update(weight_json(g));
    out.push_back(std::move(row));
  }
  return out;
}

OrderedJson after_json(const Aftermath& after) {
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
OrderedJson base_json(const BaseRates& base) {
  if (base.from.empty()) return nullptr;
  OrderedJson out = {{"from", base.from},
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

OrderedJson reliability_json(const Reliability& r) {
  OrderedJson out = {{"count", r.count},
                     {"days", r.days},
                     {"brier", tidy(r.brier)},
                     {"brier_skill", tidy(r.brier_skill)},
                     {"said", tidy(r.said)},
                     {"came_true", tidy(r.share)},
                     {"verdict", describe_drift(r)},
                     {"rows", OrderedJson::array()}};
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

OrderedJson bands_json(const std::vector<OddsBand>& bands) {
  OrderedJson out = OrderedJson::array();
  for (const OddsBand& band : bands) {
    out.push_back({{"from", std::isfinite(band.from) ? OrderedJson(std::max(band.from, 0.0)) : OrderedJson(nullptr)},
                   {"to", std::isfinite(band.to) && band.to > 0 ? OrderedJson(band.to) : OrderedJson(nullptr)},
                   {"count", band.count},
                   {"said", tidy(band.said)},
                   {"came", tidy(band.came.share())},
                   {"came_between", between(band.came.between)}});
  }
  return out;
}

/// A gap that was not known has neither end.
OrderedJson at_crossings_json(const OddsAtCrossings& odds) {
  return {{"by_minute", bands_json(odds.by_minute)},
          {"by_gap", bands_json(odds.by_gap)},
          {"unknown", odds.unknown},
          {"with_own_lift", odds.with_own}};
}

OrderedJson sale_json(const DeedSale& sale) {
  const Answer& sold = sale.sold;
  return {{"sold", sold.price.is_set() ? OrderedJson(sold.price.as_double()) : OrderedJson(nullptr)},
          {"sold_on", to_string(sold.day)},
          {"shares", sold.shares > Shares{} ? OrderedJson(sold.shares.as_double()) : OrderedJson(nullptr)},
          {"notice", sale.notice_id.empty() ? OrderedJson(nullptr) : OrderedJson(sale.notice_id)},
          {"seconds_after", sale.notice_id.empty() ? OrderedJson(nullptr) : OrderedJson(sale.after / kSecond)}};
}

OrderedJson deed_json(const Deed& deed) {
  const Answer& bought = deed.bought;
  const bool sold_at = deed.sold && deed.sold->sold.price.is_set();
  OrderedJson sales = OrderedJson::array();
  for (const DeedSale& part : deed.parts) sales.push_back(sale_json(part));
  if (deed.sold) sales.push_back(sale_json(*deed.sold));
  return {{"symbol", bought.symbol},
          {"bought", bought.price.as_double()},
          {"bought_on", to_string(bought.day)},
          {"shares", bought.shares > Shares{} ? OrderedJson(bought.shares.as_double()) : OrderedJson(nullptr)},
          {"notice", deed.notice_id.empty() ? OrderedJson(nullptr) : OrderedJson(deed.notice_id)},
          {"seconds_after", deed.notice_id.empty() ? OrderedJson(nullptr) : OrderedJson(deed.after / kSecond)},
          {"inside_range", deed.notice_id.empty() ? OrderedJson(nullptr) : OrderedJson(deed.inside)},
          {"sold", sold_at ? OrderedJson(deed.sold->sold.price.as_double()) : OrderedJson(nullptr)},
          {"sold_on", deed.sold ? OrderedJson(to_string(deed.sold->sold.day)) : OrderedJson(nullptr)},
          {"sales", std::move(sales)},
          {"last", deed.last.is_set() ? OrderedJson(deed.last.as_double()) : OrderedJson(nullptr)},
          {"result", number(deed.result)}};
}

OrderedJson summary_json(const FollowSummary& f) {
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
          {"ended_mean", f.ended > 0 ? OrderedJson(tidy(f.ended_mean)) : OrderedJson(nullptr)},
          {"open_mean", f.open > 0 ? OrderedJson(tidy(f.open_mean)) : OrderedJson(nullptr)}};
}

}  // namespace

std::string to_json(const Review& review) {
  OrderedJson out = {{"from", to_string(review.options.from)},
                     {"to", to_string(review.options.to)},
                     {"cost_percent", review.options.cost_percent},
                     {"notices", review.notices},
                     {"held_back", review.held_back}};
  out["crossings"] = OrderedJson::array();
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
  out["deeds"] = OrderedJson::array();
  for (const Deed& deed : review.deeds) out["deeds"].push_back(deed_json(deed));
  out["troubles"] = OrderedJson::array();
  for (const DayTrouble& t : review.troubles) {
    out["troubles"].push_back({{"kind", to_string(t.kind)},
                               {"day", to_string(t.day)},
                               {"symbol", t.symbol},
                               {"notice", t.notice_id},
                               {"channel", t.channel},
                               {"why", t.why}});
  }
  return json_text(out);
}

}  // namespace brimwatch
