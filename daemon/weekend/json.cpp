#include <cmath>
#include <nlohmann/json.hpp>

#include "weekend/list.h"

namespace brimwatch {
namespace {

using Json = nlohmann::ordered_json;

/// Two decimals: enough for a percentage, and the same on every machine.
double tidy(double value) { return std::round(value * 100) / 100; }
Json maybe(const std::optional<double>& value) { return value ? Json(tidy(*value)) : Json(nullptr); }

const char* word(Verdict verdict) {
  switch (verdict) {
    case Verdict::kept:
      return "kept";
    case Verdict::broken:
      return "broken";
    case Verdict::unknown:
      return "unknown";
  }
  return "";
}

Json strength_json(const std::optional<Strength>& strength) {
  if (!strength) return nullptr;
  return {{"line", strength->line},
          {"place", tidy(strength->place)},
          {"at_high", strength->at_high},
          {"sessions", strength->sessions}};
}

}  // namespace

std::string to_json(const Candidate& one) {
  const Facts& f = one.facts;
  Json out = {{"symbol", one.symbol}, {"kind", to_string(f.kind)}, {"as_of", to_string(f.as_of)}};
  out["pivot"] = to_string(f.pivot);  // text: exact, as everywhere
  out["last_close"] = to_string(f.last_close);
  out["to_pivot"] = tidy(f.to_pivot);
  out["score"] = tidy(one.judgement.score);
  out["points"] = one.judgement.points;
  out["points_most"] = one.judgement.points_most;
  out["length"] = f.length;
  out["depth"] = tidy(f.depth);
  out["prior_rise"] = tidy(f.prior_rise);
  out["rise_from"] = to_string(f.rise_from);
  out["normal_volume"] = std::llround(f.normal_volume);
  out["quiet"] = tidy(f.quiet);
  out["up_down"] = maybe(f.up_down);
  out["index_fall"] = maybe(f.index_fall);
  if (f.kind == BaseKind::cup_with_handle) {
    out["handle"] = {{"length", f.handle_length},
                     {"depth", tidy(f.handle_depth)},
                     {"place", tidy(f.handle_place)},
                     {"volume", tidy(f.handle_volume)},
                     {"drift", tidy(f.handle_drift)}};
  }
  if (f.kind == BaseKind::flat_base) out["place"] = tidy(f.place);
  if (f.kind == BaseKind::double_bottom) out["undercut"] = tidy(f.undercut);
  out["strength"] = strength_json(f.strength);
  out["marks"] = Json::array();
  for (const Point& point : f.points) {
    out["marks"].push_back({{"name", point.name}, {"day", to_string(point.day)}, {"price", to_string(point.price)}});
  }
  out["rules"] = Json::array();
  for (const RuleResult& rule : one.judgement.rules) {
    out["rules"].push_back(
        {{"name", rule.name}, {"verdict", word(rule.verdict)}, {"weight", rule.weight}, {"sentence", rule.sentence}});
  }
  out["adjusted"] = one.adjusted;
  out["report"] = one.report;
  out["ahead"] = one.ahead;
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace brimwatch
