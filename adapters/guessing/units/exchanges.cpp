#include <cctype>
#include <set>
#include <utility>

#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

/// Participant codes of the consolidated tapes by market identifier code (ISO 10383); from memory.
std::string_view participant_of(const std::string& mic) {
  constexpr std::pair<std::string_view, std::string_view> kRows[] = {
      {"XNYS", "N"}, {"XNAS", "Q"}, {"ARCX", "P"}, {"XASE", "A"}, {"XBOS", "B"}, {"XCIS", "C"},
      {"FINR", "D"}, {"XADF", "D"}, {"EDGA", "J"}, {"EDGX", "K"}, {"XCHI", "M"}, {"MEMX", "U"},
      {"IEXG", "V"}, {"XPHL", "X"}, {"BATY", "Y"}, {"BATS", "Z"}};
  for (const auto& [name, code] : kRows) {
    if (name == mic) return code;
  }
  return {};
}

}  // namespace

void find_exchanges(UnitFindings& into) {
  std::set<std::string> words;
  into.each_market([&](const SortGuess& guess) {
    for (const Leaf* leaf : into.values_at(guess, Field::exchange)) words.insert(leaf->text);
  });
  std::string unknown;
  for (const std::string& word : words) {
    const std::string_view code = participant_of(word);
    const bool letter = word.size() == 1 && std::isalpha(static_cast<unsigned char>(word[0])) != 0;
    if (code.empty() && !letter && !word.empty()) unknown += (unknown.empty() ? "\"" : ", \"") + word + "\"";
    if (code.empty()) continue;
    into.settings().exchange_words[word] = code;
    into.note("exchange_words." + word, std::string(code), Sure::likely, "the market's code");
  }
  if (!unknown.empty())
    into.ask("exchange_words: which letter of the tape stands for " + unknown +
             "? Until it is mapped, the trade's exchange is "
             "not known");
}

}  // namespace brimwatch
