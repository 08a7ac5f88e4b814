#include "core/words/phrases.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/wording.h"

namespace brimwatch::words {
namespace {

std::string signed_fixed(double value, int decimals) {
  std::string digits = fixed(std::abs(value), decimals);
  const bool zero = digits.find_first_of("123456789?") == std::string::npos;
  return (value < 0 && !zero ? "-" : "+") + digits;
}

std::string why_not_text(NoJudgement why) {
  switch (why) {
    case NoJudgement::none:
      return "not judged";
    case NoJudgement::no_normal:
      return "not judged: its normal volume is not known";
    case NoJudgement::ratio_unknown:
      return "not judged: how much of the market this feed carries is not known yet";
    case NoJudgement::outside_session:
      return "not judged outside regular hours";
    case NoJudgement::ratio_unsteady:
      return "not judged: how much of the market this feed carries differs too much from day to day";
    case NoJudgement::heard_too_little:
      return "not judged: too little of the day was heard yet";
    case NoJudgement::day_volume_unclear:
      return "not judged: the source's own count of the day and its trades disagree (key day_volume_includes)";
  }
  return {};
}

}  // namespace

std::string untied(std::string text) {
  for (std::size_t at = 0; (at = text.find(kTie, at)) != std::string::npos;) text.replace(at, kTie.size(), " ");
  return text;
}

std::string tied(std::string number, std::string_view unit) { return number.append(kTie).append(unit); }

std::string fixed(double value, int decimals) {
  if (!std::isfinite(value)) return "?";
  char digits[400];
  const auto end = std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed, decimals).ptr;
  return {digits, end};
}

std::string percent(double value, int decimals) { return tied(signed_fixed(value, decimals), "%"); }

std::string needed_text(double value) {
  const bool whole = std::abs(value - std::round(value)) < 0.05;
  return percent(value, whole ? 0 : 1);
}

std::string ordinal(int n) {
  constexpr std::string_view kEndings[] = {"th", "st", "nd", "rd"};
  const bool teens = n % 100 >= 11 && n % 100 <= 13;
  return std::to_string(n).append(teens || n % 10 > 3 ? kEndings[0] : kEndings[n % 10]);
}

std::size_t end_of_first_part(std::string_view text) { return std::min({text.find("; "), text.find(". "), text.size()}); }

std::string change(Price price, Price base) {
  if (!base.is_set()) return "?";
  const double value = (static_cast<double>(price.micros) / static_cast<double>(base.micros) - 1) * 100;
  const bool tiny = price != base && std::abs(value) < 0.05;
  return percent(value, tiny ? 2 : 1);
}

std::string span(Nanos length) {
  const double seconds = static_cast<double>(length) / 1e9;
  if (seconds < 9.95) return tied(fixed(seconds, 1), "s");
  if (seconds < 119.5) return tied(fixed(seconds, 0), "s");
  const auto minutes = std::llround(seconds / 60);
  if (minutes < 120) return tied(std::to_string(minutes), "min");
  const std::string rest = std::to_string(minutes % 60);
  return tied(tied(tied(std::to_string(minutes / 60), "h"), (rest.size() < 2 ? "0" : "") + rest), "min");
}

std::string normal_text(const VolumeView& volume) {
  constexpr int kFew = 20;
  std::string text = "normal " + brief(volume.normal.as_double());
  if (volume.normal_days == 0 || volume.normal_days >= kFew) return text;
  return text + " (the mean of " + tied(std::to_string(volume.normal_days), volume.normal_days == 1 ? "day" : "days") +
         " only)";
}

std::string phrase(const VolumeView& volume) {
  std::string text = brief(volume.so_far.as_double());
  if (volume.weight == Weight::unknown) return text + ", " + why_not_text(volume.why_not);
  const double wanted = volume.normal.as_double() * (1 + volume.needed / 100);
  const bool is_past = wanted > 0 && volume.so_far.as_double() >= wanted;
  if (is_past) text += ", past the mark of " + brief(wanted) + " already, the day by now likely ";
  else text += ", heading for ";
  text += brief(volume.projected) + " (" + brief(volume.low) + "-" + brief(volume.high) + ")";
  return text + ", " + percent(volume.surge, 0) + " on " + normal_text(volume);
}

std::string doubt_of_normal(const VolumeView& volume) {
  constexpr double kMost = 20;
  const double normal = volume.normal.as_double();
  if (!(normal > 0) || volume.so_far.as_double() < kMost * normal) return {};
  return "The normal volume of " + brief(normal) + " looks wrong: today's is " +
         std::to_string(std::llround(volume.so_far.as_double() / normal)) + " times it. Is it in lots of 100?";
}

std::string judgement(const VolumeView& volume) {
  if (volume.weight == Weight::unknown) return {};
  return ("odds of " + needed_text(volume.needed) + ": " + odds_text(volume.odds, volume.weight) + ", ")
      .append(to_string(volume.weight));
}

}  // namespace brimwatch::words
