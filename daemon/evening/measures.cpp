#include "evening/measures.h"

#include "evening/compare.h"

namespace brimwatch {
namespace {

bool heavy(const Crossing& one) { return one.said.notice.volume.weight == Weight::heavy; }

std::optional<double> came(const Crossing& one) {
  return one.came ? std::optional<double>(*one.came ? 1 : 0) : std::nullopt;
}

std::optional<double> held(const Crossing& one) {
  return one.close ? std::optional<double>(one.closed != Side::under ? 1 : 0) : std::nullopt;
}

std::optional<double> odds_error(const Crossing& one) {
  if (!one.came || one.said.notice.volume.weight == Weight::unknown) return std::nullopt;
  const double off = one.said.notice.volume.odds - (*one.came ? 1 : 0);
  return off * off;
}

/// Less the index, where there is one; a crossing whose index is not known is then left out.
std::optional<double> less(double value, const std::optional<double>& index, bool has_index) {
  if (!has_index) return value;
  return index ? std::optional<double>(value - *index) : std::nullopt;
}

void add_swings(std::vector<MeasureKind>& out, bool has_index) {
  const auto add = [&](const std::string& name, std::size_t i, double Swing::*value) {
    out.push_back({name, true, false, has_index, kSpans[i], [=](const Crossing& one) {
                     return one.after[i] ? less(*one.after[i].*value, one.after[i]->index, has_index) : std::nullopt;
                   }});
  };
  for (std::size_t i = 0; i < kSpans.size(); ++i) {
    const std::string sessions = std::to_string(kSpans[i]) + (kSpans[i] == 1 ? " session, %" : " sessions, %");
    add("close after " + sessions, i, &Swing::close);
    add("highest rise within " + sessions, i, &Swing::rise);
    add("deepest fall within " + sessions, i, &Swing::fall);
  }
}

}  // namespace

std::vector<MeasureKind> measure_kinds(bool has_index) {
  std::vector<MeasureKind> out = {
      {"heavy crossings whose volume came", true, true, false, kDayHorizon,
       [](const Crossing& one) { return heavy(one) ? came(one) : std::nullopt; }},
      {"crossings that closed at or above the pivot", true, true, false, kDayHorizon, held},
      {"heavy ones that closed at or above the pivot", true, true, false, kDayHorizon,
       [](const Crossing& one) { return heavy(one) ? held(one) : std::nullopt; }},
      {"error of the odds (Brier, 0 is perfect)", false, false, false, kDayHorizon, odds_error},
  };
  add_swings(out, has_index);
  out.push_back(
      {"result of following, % each, open ones too", true, false, has_index, kSpans.back(), [=](const Crossing& one) {
         const Followed& f = one.followed;
         return f.taken && !f.unpriced ? less(f.result, f.index, has_index) : std::nullopt;
       }});
  return out;
}

}  // namespace brimwatch
