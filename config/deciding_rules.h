#pragma once
// What decides whether and when something is told, in a form that machines of one house can compare: rules, market,
// session, and of each watch what is not as there. Pure.
#include <string>
#include <string_view>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

/// One line a rule, its parts apart by tabs: "[rules]", "range", "5", or "KLVN 48.35", "range", "7". Of very many watches
/// with rules of their own the first so many, and how many more there are.
[[nodiscard]] std::string deciding_rules_text(const Settings& settings);

/// One of two that are compared: how its side is called, the names of its watches (shared/entries/watch_names.h), its
/// rules.
struct RuledSide {
  std::string_view name, watches, rules;
};

/// One line a rule that differs: "[rules] range: 5 on home, 7 on cloud". Then watches that both have and whose rules
/// differ by more than that, and how many more there are.
[[nodiscard]] std::vector<std::string> rule_differences(const RuledSide& here, const RuledSide& there);

}  // namespace brimwatch
