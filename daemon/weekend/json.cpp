#include "core/text/json.h"

#include <cmath>

#include "weekend/choose.h"
#include "weekend/list.h"

namespace brimwatch {
namespace {

/// Two decimals: enough for a percentage, and the same on every machine.
double tidy(double value) { return std::round(value * 100) / 100; }
OrderedJson maybe(const std::optional<double>& value) { return value ? OrderedJson(tidy(*value)) : OrderedJson(nullptr); }

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

double fraction(double value) { return std::round(value * 10'000) / 10'000; }

void add_outlook(const std::optional<Outlook>& outlook, const OddsBook& odds, OrderedJson& out) {
  const auto put = [&](const char* name, double value) {
    out[name] = outlook ? OrderedJson(value) : OrderedJson(nullptr);
  };
  const Outlook known = outlook.value_or(Outlook{});
  put("ordinary_move", tidy(known.move.percent));
  put("moves_to_pivot", tidy(known.moves_to_pivot));
  put("cross_in_5", fraction(known.cross_in_5));
  put("up20_first", fraction(known.up20_first));
  put("down8_first", fraction(known.down8_first));
  out["odds_from"] = outlook ? OrderedJson(origin_of(odds)) : OrderedJson(nullptr);
}

OrderedJson print_json(const std::optional<SinglePrint>& print) {
  if (!print) return nullptr;
  return {{"over", tidy(print->over)}, {"next", to_string(print->next)}, {"next_day", to_string(print->next_day)}};
}

OrderedJson strength_json(const std::optional<Strength>& strength) {
  if (!strength) return nullptr;
  return {{"line", strength->line},
          {"place", tidy(strength->place)},
          {"at_high", strength->at_high},
          {"sessions", strength->sessions}};
}

}  // namespace

std::string to_json(const NotListed& one) {
  return json_text(OrderedJson({{"symbol", one.symbol}, {"not_listed", one.reason}}));
}

std::string to_json(const Candidate& one, const Prepared& prepared, const RuleBook& book) {
  const Facts& f = one.facts;
  OrderedJson out = {{"symbol", one.symbol}, {"kind", to_string(f.kind)}, {"as_of", to_string(f.as_of)}};
  out["pivot"] = to_string(f.pivot);  // text: exact, as everywhere
  out["last_close"] = to_string(f.last_close);
  out["to_pivot"] = tidy(f.to_pivot);
  add_outlook(one.outlook, prepared.odds, out);
  out["near"] = is_near(one, book);
  out["doubts"] = one.doubts;
  out["rules_kept"] = one.judgement.kept;
  out["rules_judged"] = one.judgement.judged;
  out["length"] = f.length;
  out["depth"] = tidy(f.depth);
  out["prior_rise"] = tidy(f.prior_rise);
  out["rise_from"] = to_string(f.rise_from);
  out["normal_volume"] = std::llround(f.normal_volume);
  out["quiet"] = tidy(f.quiet);
  out["rising_volume"] = maybe(f.rising_volume);
  out["index_fall"] = maybe(f.index_fall);
  out["ten_week_mean"] = maybe(f.ten_weeks);
  if (f.kind == BaseKind::cup_with_handle) {
    out["handle"] = {{"length", f.handle_length},
                     {"depth", tidy(f.handle_depth)},
                     {"place", tidy(f.handle_place)},
                     {"volume", tidy(f.handle_volume)},
                     {"drift", tidy(f.handle_drift)}};
  }
  out["place"] = tidy(f.place);
  if (f.kind == BaseKind::double_bottom) {
    out["undercut"] = tidy(f.undercut);
    out["second_leg"] = tidy(f.second_leg);
  }
  out["one_print"] = print_json(f.print);
  out["strength"] = strength_json(f.strength);
  out["marks"] = OrderedJson::array();
  for (const Point& point : f.points) {
    out["marks"].push_back({{"name", point.name}, {"day", to_string(point.day)}, {"price", to_string(point.price)}});
  }
  out["rules"] = OrderedJson::array();
  for (const RuleResult& rule : one.judgement.rules) {
    out["rules"].push_back(
        {{"name", rule.name}, {"verdict", word(rule.verdict)}, {"core", rule.core}, {"sentence", rule.sentence}});
  }
  out["adjusted"] = one.adjusted;
  out["report"] = one.report;
  out["ahead"] = one.ahead;
  return json_text(out);
}

}  // namespace brimwatch
