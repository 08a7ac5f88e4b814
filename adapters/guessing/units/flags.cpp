#include <map>
#include <set>
#include <string>

#include "adapters/guessing/fields/looks.h"
#include "adapters/guessing/names.h"
#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

/// A flag of trades by its pointer: in how many it is set, and how that is written.
struct FlagSeen {
  std::size_t set = 0;
  std::string written;
  bool is_flag = true;
};

/// Of "isExtendedHoursFlag" what it says of a trade, where the tape has a condition for that.
bool is_named_as_condition(const std::string& pointer) {
  std::string said;
  for (const std::string& word : words_in(pointer.substr(pointer.rfind('/') + 1))) {
    if (word != "is" && word != "flag" && word != "ind" && word != "indicator") said += word;
  }
  return condition_of_word(said).has_value();
}

bool is_used(const UnitFindings& into, const SortGuess& guess, const std::string& pointer) {
  for (const auto& [field, found] : guess.fields) {
    if (found.pointer == pointer) return true;
  }
  for (const MessageRule& rule : into.settings().rules) {
    if (rule.at == pointer) return true;
  }
  return into.settings().fields.kind == pointer;
}

std::map<std::string, FlagSeen> flags_of(const UnitFindings& into, const SortGuess& guess) {
  std::map<std::string, FlagSeen> out;
  for (const std::size_t i : guess.sort.records) {
    for (const auto& [pointer, leaf] : into.records()[i].leaves) {
      if (!is_named_as_condition(pointer) || is_used(into, guess, pointer)) continue;
      FlagSeen& seen = out[pointer];
      const auto flag = flag_in(leaf);
      seen.is_flag = seen.is_flag && flag.has_value();
      if (!flag.value_or(false)) continue;
      ++seen.set;
      seen.written = leaf.text;
    }
  }
  return out;
}

}  // namespace

void find_flags(UnitFindings& into) {
  std::set<std::string> asked;
  for (const SortGuess& guess : into.sorts()) {
    if (guess.kind != MessageKind::trade) continue;
    for (const auto& [pointer, seen] : flags_of(into, guess)) {
      if (!seen.is_flag || seen.set == 0 || !asked.insert(pointer).second) continue;
      into.ask(
          "rules: the flag " + pointer + " is set in " + std::to_string(seen.set) +
          " trades and is not used: no key reads it, and they count like the others; to pass them over write rules = "
          "[{ at = \"" +
          pointer + "\", equals = \"" + seen.written + "\", kind = \"ignore\" }]");
    }
  }
}

}  // namespace brimwatch
