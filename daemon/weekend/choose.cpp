#include "weekend/choose.h"

#include <algorithm>
#include <limits>

namespace brimwatch {
namespace {

int core_broken(const Judgement& judgement) {
  return static_cast<int>(std::count_if(judgement.rules.begin(), judgement.rules.end(), [](const RuleResult& rule) {
    return rule.core && rule.verdict == Verdict::broken;
  }));
}

bool is_plain(const Candidate& one) { return one.facts.kind == BaseKind::no_base; }

bool may_be_listed(const Candidate& one, const RuleBook& book) {
  const int core = core_broken(one.judgement);
  return (book.core_needed == 0 || core == 0) && one.judgement.broken() - core <= book.broken_most;
}

double distance_of(const Candidate& one) {
  return one.outlook ? one.outlook->moves_to_pivot : std::numeric_limits<double>::max();
}

}  // namespace

bool fits_better(const Candidate& a, const Candidate& b) {
  if (is_plain(a) != is_plain(b)) return is_plain(b);
  const int core_a = core_broken(a.judgement), core_b = core_broken(b.judgement);
  if (core_a != core_b) return core_a < core_b;
  if (a.judgement.broken() != b.judgement.broken()) return a.judgement.broken() < b.judgement.broken();
  if (a.facts.length != b.facts.length) return a.facts.length > b.facts.length;
  return a.base < b.base;
}

void choose(std::vector<Candidate>& found, const RuleBook& book) {
  std::vector<Candidate> chosen;
  for (Candidate& one : found) {
    if (static_cast<int>(chosen.size()) >= book.per_symbol) break;
    if (is_plain(one) && (book.plain_listed == 0 || !chosen.empty())) continue;
    if (!may_be_listed(one, book)) continue;
    const auto same_pivot = [&](const Candidate& other) { return other.facts.pivot == one.facts.pivot; };
    if (std::none_of(chosen.begin(), chosen.end(), same_pivot)) chosen.push_back(std::move(one));
  }
  found = std::move(chosen);
}

std::string why_none(const std::vector<Candidate>& found, const RuleBook& book) {
  const auto shape = std::find_if(found.begin(), found.end(), [](const Candidate& one) { return !is_plain(one); });
  if (shape == found.end()) return "no base on its last bar";
  if (may_be_listed(*shape, book)) return {};
  return std::string(to_string(shape->facts.kind)) + ", pivot " + to_string(shape->facts.pivot) + ": " +
         shape->judgement.explained;
}

bool stands_before(const Candidate& a, const Candidate& b) {
  if (a.doubts.empty() != b.doubts.empty()) return a.doubts.empty();
  if (distance_of(a) != distance_of(b)) return distance_of(a) < distance_of(b);
  if (a.symbol != b.symbol) return a.symbol < b.symbol;
  return a.base < b.base;
}

bool is_near(const Candidate& one, const RuleBook& book) { return one.doubts.empty() && distance_of(one) <= book.near; }

}  // namespace brimwatch
