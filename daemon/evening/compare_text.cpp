// A comparison as text, as JSON, as a page.
#include <cstdio>
#include <nlohmann/json.hpp>

#include "core/text.h"
#include "evening/compare.h"

namespace brimwatch {
namespace {

using Json = nlohmann::ordered_json;

template <typename... Args>
std::string say(const char* format, Args... args) {
  char text[300];
  std::snprintf(text, sizeof text, format, args...);
  return text;
}

/// "14 of 20 (70 %, 48-85)" or "+1.24 (20)"; "-" where there is nothing.
std::string side(const Measure& m, bool of_b) {
  const int count = of_b ? m.count_b : m.count_a;
  const double value = of_b ? m.b : m.a;
  if (count == 0) return "-";
  if (!m.is_share) return say("%.2f (%d)", value, count);
  const Interval& between = of_b ? m.between_b : m.between_a;
  return say("%d of %d (%.0f %%, %.0f-%.0f)", of_b ? m.hits_b : m.hits_a, count, value, 100 * between.low,
             100 * between.high);
}

std::string noise(const Measure& m) {
  if (!m.p) return "nothing to compare";
  return m.within_noise ? "within noise" : "beyond noise";
}

constexpr const char* kMethod =
    "Shares with 95 % Wilson intervals. B - A with the 95 % interval of days drawn anew. p: how often the days' "
    "outcomes,\n"
    "swapped between A and B at random, differ as much (Fisher's randomization test for pairs, 1935), corrected for the\n"
    "number of measures (Holm 1979). Volume and odds are judged by each set's own wanted surge. What was, on these days, "
    "for\n"
    "these watches, is no promise.\n";

Json number(bool is_there, double value) { return is_there ? Json(value) : Json(nullptr); }

Json measure_json(const Measure& m) {
  Json out = {{"name", m.name},
              {"a", number(m.count_a > 0, m.a)},
              {"b", number(m.count_b > 0, m.b)},
              {"count_a", m.count_a},
              {"count_b", m.count_b}};
  if (m.is_share) {
    out["hits_a"] = m.hits_a;
    out["hits_b"] = m.hits_b;
    out["between_a"] = {m.between_a.low, m.between_a.high};
    out["between_b"] = {m.between_b.low, m.between_b.high};
  }
  out["difference"] = number(m.p.has_value(), m.difference);
  out["low"] = number(m.p.has_value(), m.low);
  out["high"] = number(m.p.has_value(), m.high);
  out["p"] = number(m.p.has_value(), m.p.value_or(1));
  out["p_together"] = number(m.p.has_value(), m.p_together);
  out["within_noise"] = m.within_noise;
  return out;
}

}  // namespace

std::string in_words(const Comparison& comparison, std::string_view name_a, std::string_view name_b) {
  std::string out = "A = " + clean_line(name_a, 200) + "\nB = " + clean_line(name_b, 200) + "\n";
  out += say("%d day%s with a crossing in either. Information, not advice.\n\n", comparison.days,
             comparison.days == 1 ? "" : "s");
  out += say("%-46s %24s %24s %8s %20s %6s\n", "", "A", "B", "B - A", "95 % interval", "p");
  for (const Tally& tally : comparison.tallies)
    out += say("%-46s %24d %24d %+8d\n", tally.name.c_str(), tally.a, tally.b, tally.b - tally.a);
  for (const Measure& m : comparison.measures) {
    if (m.count_a == 0 && m.count_b == 0) continue;
    out += say("%-46s %24s %24s", m.name.c_str(), side(m, false).c_str(), side(m, true).c_str());
    if (m.p) out += say(" %+8.2f %+9.2f to %+7.2f %6.3f", m.difference, m.low, m.high, m.p_together);
    out += "  " + noise(m) + "\n";
  }
  return out + "\n" + comparison.verdict + "\n" + kMethod;
}

std::string to_json(const Comparison& comparison) {
  Json out = {{"days", comparison.days}, {"verdict", comparison.verdict}};
  out["tallies"] = Json::array();
  for (const Tally& tally : comparison.tallies)
    out["tallies"].push_back({{"name", clean_line(tally.name, 100)}, {"a", tally.a}, {"b", tally.b}});
  out["measures"] = Json::array();
  for (const Measure& m : comparison.measures) out["measures"].push_back(measure_json(m));
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string to_html(const Comparison& comparison, std::string_view name_a, std::string_view name_b) {
  const auto cell = [](const std::string& text) { return "<td>" + escape_markup(clean_line(text, 300)); };
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
      "content=\"width=device-width\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
      "style-src 'unsafe-inline'\">\n<style>body{font:15px/1.45 sans-serif;color:#222;max-width:70em;margin:2em "
      "auto;padding:0 1em}table{border-collapse:collapse}th,td{text-align:left;padding:.25em .9em .25em "
      "0;border-bottom:1px solid #ddd}.small{color:#555;font-size:.9em}</style>\n<title>Two sets of rules</title></head>"
      "<body><h1>Two sets of rules on the same days</h1>\n";
  out +=
      "<p>A = " + escape_markup(clean_line(name_a, 200)) + "<br>B = " + escape_markup(clean_line(name_b, 200)) + "</p>";
  out += "<p><b>" + escape_markup(clean_line(comparison.verdict, 2000)) + "</b></p>\n";
  out += "<table><tr><th><th>A<th>B<th>B - A<th>95 % interval<th>p<th></tr>\n";
  for (const Tally& tally : comparison.tallies)
    out += "<tr>" + cell(tally.name) + say("<td>%d<td>%d<td>%+d<td><td><td></tr>\n", tally.a, tally.b, tally.b - tally.a);
  for (const Measure& m : comparison.measures) {
    out += "<tr>" + cell(m.name) + cell(side(m, false)) + cell(side(m, true));
    out += m.p ? say("<td>%+.2f<td>%+.2f to %+.2f<td>%.3f", m.difference, m.low, m.high, m.p_together) : "<td><td><td>";
    out += cell(noise(m)) + "</tr>\n";
  }
  return out + "</table><p class=\"small\">" + escape_markup(clean_line(kMethod, 2000)) + "</p></body></html>\n";
}

}  // namespace brimwatch
