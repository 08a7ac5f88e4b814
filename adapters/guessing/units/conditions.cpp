#include <algorithm>
#include <map>
#include <utility>

#include "adapters/guessing/names.h"
#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

/// Conditions of the trades as single codes; `small`: whether every trade with the code is of fewer than 100 shares.
struct Code {
  std::size_t count = 0;
  bool small = true;
};

std::vector<std::string> words_apart(const std::string& text) {
  std::vector<std::string> out;
  if (condition_of_word(text)) return {text};
  std::string part;
  for (const char c : text + ",") {
    if (c != ',' && c != ' ') part += c;
    else if (!part.empty()) out.push_back(std::exchange(part, {}));
  }
  return out;
}

std::map<std::string, Code> condition_codes(const UnitFindings& into) {
  std::map<std::string, Code> out;
  for (const SortGuess& guess : into.sorts()) {
    const auto conditions = guess.fields.find(Field::conditions), size = guess.fields.find(Field::size);
    if (guess.kind != MessageKind::trade || conditions == guess.fields.end()) continue;
    for (const std::size_t i : guess.sort.records) {
      const Leaf* leaf = into.records()[i].find(conditions->second.pointer);
      if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
      const Leaf* shares = size != guess.fields.end() ? into.records()[i].find(size->second.pointer) : nullptr;
      const bool small = shares != nullptr && number_in(shares->text).value_or(1e9) * into.settings().lot_size < 100;
      for (const std::string& code : leaf->kind == Leaf::Kind::list ? leaf->items : words_apart(leaf->text)) {
        Code& seen = out[code];
        ++seen.count;
        seen.small = seen.small && small;
      }
    }
  }
  return out;
}

void add_condition(UnitFindings& into, const std::string& code) {
  if (code.empty()) return;
  const auto ours = condition_of_word(code);
  if (!ours) {
    return into.ask("condition_words: which condition of the tape is \"" + code +
                    "\"? Until it is mapped, such a trade adds volume and moves no price");
  }
  into.settings().condition_words[code] = *ours;
  into.note("condition_words." + code, std::string(*ours), Sure::sure, "the condition's name");
}

constexpr std::string_view kTapeCodes = "@ABCDEFGHIKLMNOPQRSTUVWXYZ1456789";

bool are_letters_of_tape(const std::map<std::string, Code>& codes) {
  const bool letters = std::all_of(codes.begin(), codes.end(), [](const auto& row) {
    return row.first.find_first_not_of(kTapeCodes) == std::string::npos && row.first.size() <= 4;
  });
  const bool digits =
      std::all_of(codes.begin(), codes.end(), [](const auto& row) { return number_in(row.first).has_value(); });
  return letters && !digits;
}

/// A "@", or an "I" that stands at odd lots alone, proves that they are the tape's.
void take_letters_of_tape(UnitFindings& into, const std::map<std::string, Code>& codes) {
  const auto odd = codes.find("I");
  const bool regular = codes.count("@") != 0, odd_proves = odd != codes.end() && odd->second.small;
  into.settings().conditions = "utdf";
  into.note("conditions", "utdf", regular || odd_proves ? Sure::sure : Sure::likely,
            regular      ? "letters of the tape, \"@\" for a regular trade"
            : odd_proves ? "letters of the tape: every \"I\" is an odd lot"
                         : "letters as the tape has them");
  if (regular || odd_proves) return;
  into.ask(
      "conditions: the sale conditions are letters; are they the tape's (\"utdf\" or \"cts\"), or the source's own "
      "(condition_words)?");
}

}  // namespace

void find_conditions(UnitFindings& into) {
  const auto codes = condition_codes(into);
  if (codes.empty()) return;
  if (are_letters_of_tape(codes)) return take_letters_of_tape(into, codes);
  for (const auto& [code, seen] : codes) add_condition(into, code);
}

}  // namespace brimwatch
