#include <set>

#include "adapters/guessing/names.h"
#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

void add_status(UnitFindings& into, std::set<std::string>& asked, const std::string& word, const std::string& pointer) {
  if (into.settings().status_words.count(word) != 0 || asked.count(word) != 0) return;
  const std::string_view ours = status_of_word(word, pointer);
  if (ours.empty()) {
    asked.insert(word);
    return into.ask("status_words: what does \"" + word + "\" say: trading, halted, paused or quotation?");
  }
  into.settings().status_words[word] = ours;
  into.note("status_words." + word, std::string(ours), word.size() > 1 ? Sure::sure : Sure::likely,
            word.size() > 1 ? "the word says so" : "the letter that the word begins with");
}

}  // namespace

void find_status_words(UnitFindings& into) {
  std::set<std::string> asked;
  for (const SortGuess& guess : into.sorts()) {
    if (guess.kind != MessageKind::status) continue;
    const auto found = guess.fields.find(Field::status);
    for (const Leaf* leaf : into.values_at(guess, Field::status))
      add_status(into, asked, leaf->text, found->second.pointer);
  }
}

}  // namespace brimwatch
