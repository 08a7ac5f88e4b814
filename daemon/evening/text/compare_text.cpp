// A comparison as text, as JSON, as a page.
#include <cstdio>

#include "core/text/json.h"
#include "core/text/text.h"
#include "core/wording.h"
#include "evening/compare.h"
#include "evening/text/page.h"
#include "evening/text/say.h"

namespace brimwatch {
namespace {

std::string signed_number(double value) {
  const std::string percent = percent_text(value, 2);
  return percent.substr(0, percent.size() - 2);
}

std::string name_of(const Measure& m) { return m.less_index ? m.name + ", less the index" : m.name; }

/// "14 of 20 (70 %, likely 48 to 85)" or "+1.24 (20)"; "-" where there is nothing.
std::string side(const Measure& m, bool of_b) {
  const int count = of_b ? m.count_b : m.count_a;
  if (count == 0) return "-";
  if (m.is_share) return share_text(of_b ? m.share_b : m.share_a);
  return signed_number(of_b ? m.b : m.a) + " (" + std::to_string(count) + ")";
}

std::string difference(const Measure& m) {
  if (m.count_a == 0 || m.count_b == 0) return "nothing to compare";
  std::string out = signed_number(m.difference);
  if (!m.p)
    return out + ", too few blocks: " + std::to_string(m.blocks) + " of " + std::to_string(2 * m.horizon) +
           " sessions, 6 are needed";
  char p[16];
  std::snprintf(p, sizeof p, "%.3f", m.p_together);
  return out + " (" + signed_number(m.low) + " to " + signed_number(m.high) + "), p " + p + " over " +
         std::to_string(m.blocks) + " blocks: " + (m.within_noise ? "within noise" : "beyond noise");
}

std::string method(const Comparison& comparison) {
  std::string out =
      "Intervals are of 95 %; shares count crossings of one month as partly alike. p: Student's t over blocks of twice "
      "the "
      "sessions that an outcome takes, because crossings of neighbouring days move together and a rule may open and shut "
      "with the market; corrected for the number of measures (Holm 1979). ";
  out += comparison.has_index ? "Outcomes of later sessions are less the index over the same sessions. "
                              : "No index is configured ([market] index): outcomes of later sessions hold the market's "
                                "own moves, and up to 8 "
                                "in 100 equal rules are called different in place of 5. ";
  return out +
         "Volume and odds are judged by each set's own wanted surge. Of many sets of rules the best one is "
         "best by luck. What was, on these days, for these watches, is no promise.";
}

OrderedJson number(bool is_there, double value) { return is_there ? OrderedJson(value) : OrderedJson(nullptr); }

OrderedJson measure_json(const Measure& m) {
  OrderedJson out = {{"name", m.name},
                     {"less_index", m.less_index},
                     {"horizon", m.horizon},
                     {"a", number(m.count_a > 0, m.a)},
                     {"b", number(m.count_b > 0, m.b)},
                     {"count_a", m.count_a},
                     {"count_b", m.count_b}};
  if (m.is_share) {
    out["hits_a"] = m.share_a.hits;
    out["hits_b"] = m.share_b.hits;
    out["between_a"] = {m.share_a.between.low, m.share_a.between.high};
    out["between_b"] = {m.share_b.between.low, m.share_b.between.high};
  }
  out["difference"] = number(m.count_a > 0 && m.count_b > 0, m.difference);
  out["blocks"] = m.blocks;
  out["error"] = number(m.error.has_value(), m.error.value_or(0));
  out["low"] = number(m.p.has_value(), m.low);
  out["high"] = number(m.p.has_value(), m.high);
  out["p"] = number(m.p.has_value(), m.p.value_or(1));
  out["p_together"] = number(m.p.has_value(), m.p_together);
  out["within_noise"] = m.within_noise;
  return out;
}

std::string tally_line(const Tally& tally) {
  char text[100];
  std::snprintf(text, sizeof text, "%-40s %9d %9d %+9d\n", tally.name.c_str(), tally.a, tally.b, tally.b - tally.a);
  return text;
}

std::string span_words(const Comparison& comparison) {
  return count_text(comparison.sessions, "session") + ", " + count_text(comparison.days, "day") +
         " with a crossing in either. Information, not advice.";
}

}  // namespace

std::string in_words(const Comparison& comparison, std::string_view name_a, std::string_view name_b) {
  std::string out = wrap(comparison.verdict, kReviewWidth, 0) + "\n\nA = " + clean_line(name_a, 200) +
                    "\nB = " + clean_line(name_b, 200) + "\n" + span_words(comparison) + "\n\n";
  char head[100];
  std::snprintf(head, sizeof head, "%-40s %9s %9s %9s\n", "", "A", "B", "B - A");
  out += head;
  for (const Tally& tally : comparison.tallies) out += tally_line(tally);
  for (const Measure& m : comparison.measures) {
    if (m.count_a == 0 && m.count_b == 0) continue;
    out += "\n" + name_of(m) + "\n" + wrap("    A " + side(m, false) + "; B " + side(m, true), kReviewWidth, 6) + "\n" +
           wrap("    B - A " + difference(m), kReviewWidth, 6) + "\n";
  }
  return out + "\n" + wrap(method(comparison), kReviewWidth, 0) + "\n";
}

std::string to_json(const Comparison& comparison) {
  OrderedJson out = {{"sessions", comparison.sessions},
                     {"days", comparison.days},
                     {"has_index", comparison.has_index},
                     {"verdict", comparison.verdict}};
  out["tallies"] = OrderedJson::array();
  for (const Tally& tally : comparison.tallies)
    out["tallies"].push_back({{"name", clean_line(tally.name, 100)}, {"a", tally.a}, {"b", tally.b}});
  out["measures"] = OrderedJson::array();
  for (const Measure& m : comparison.measures) out["measures"].push_back(measure_json(m));
  return json_text(out);
}

std::string to_html(const Comparison& comparison, std::string_view name_a, std::string_view name_b) {
  const auto cell = [](const std::string& text) { return "<td>" + escape_markup(clean_line(text, 300)); };
  const auto paragraph = [](const std::string& text) { return "<p>" + escape_markup(clean_line(text, 2000)) + "</p>\n"; };
  std::string out = page_head("Two sets of rules on the same days");
  out += "<p><b>" + escape_markup(clean_line(comparison.verdict, 2000)) + "</b></p>\n";
  out += "<p>A = " + escape_markup(clean_line(name_a, 200)) + "<br>B = " + escape_markup(clean_line(name_b, 200)) +
         "</p>" + paragraph(span_words(comparison));
  out += "<table><tr><th><th>A<th>B<th>B - A (95 % interval), p</tr>\n";
  for (const Tally& tally : comparison.tallies)
    out += "<tr>" + cell(tally.name) + cell(std::to_string(tally.a)) + cell(std::to_string(tally.b)) +
           cell((tally.b < tally.a ? "" : "+") + std::to_string(tally.b - tally.a)) + "</tr>\n";
  for (const Measure& m : comparison.measures)
    out += "<tr>" + cell(name_of(m)) + cell(side(m, false)) + cell(side(m, true)) + cell(difference(m)) + "</tr>\n";
  return out + "</table><p class=\"small\">" + escape_markup(method(comparison)) + "</p></body></html>\n";
}

}  // namespace brimwatch
