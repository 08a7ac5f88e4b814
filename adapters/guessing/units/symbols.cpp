#include <algorithm>
#include <cctype>
#include <map>
#include <optional>
#include <set>

#include "adapters/guessing/names.h"
#include "adapters/guessing/topics.h"
#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

constexpr std::string_view kSeparators = ".:/@|-_#";

struct Parts {
  std::string before, ticker, after;
};

/// A text of several parts: which of them is the ticker. `many`: parts that vary.
std::optional<Parts> parts_of(const std::string& text, const std::set<std::string>& affixes) {
  const std::size_t first = text.find_first_of(kSeparators), last = text.find_last_of(kSeparators);
  if (first == text.npos) return std::nullopt;
  if (affixes.count(text.substr(0, first + 1)) != 0) return Parts{text.substr(0, first + 1), text.substr(first + 1), ""};
  if (affixes.count(text.substr(last)) != 0) return Parts{"", text.substr(0, last), text.substr(last)};
  return std::nullopt;
}

std::set<std::string> symbol_texts(const UnitFindings& into) {
  std::set<std::string> out;
  into.each_market([&](const SortGuess& guess) {
    for (const Leaf* leaf : into.values_at(guess, Field::symbol)) out.insert(leaf->text);
  });
  return out;
}

/// What stands before or behind in nearly every symbol, and is no class of a share ("KLV.B").
std::set<std::string> affixes_of(const std::set<std::string>& texts) {
  std::map<std::string, std::set<std::string>> counts;
  for (const std::string& text : texts) {
    const std::size_t first = text.find_first_of(kSeparators), last = text.find_last_of(kSeparators);
    if (first == text.npos || first == 0 || last + 1 == text.size()) continue;
    counts[text.substr(0, first + 1)].insert(text.substr(first + 1));
    counts[text.substr(last)].insert(text.substr(0, last));
  }
  std::set<std::string> out;
  for (const auto& [affix, rest] : counts) {
    const std::string word = affix.back() == '.' || affix.find_first_of(kSeparators) != 0
                                 ? affix.substr(0, affix.size() - 1)
                                 : affix.substr(1);
    const bool small = std::any_of(word.begin(), word.end(), [](unsigned char c) { return std::islower(c) != 0; });
    const bool all = rest.size() == texts.size() && texts.size() > 1;
    const bool known =
        kind_of_word(word).has_value() || word == "US" || word == "USA" || (word.size() == 4 && word[0] == 'X');
    if (known || small || all) out.insert(affix);
  }
  return out;
}

/// Symbols among other words, by what is left over.
bool find_topic_form_in(UnitFindings& into, const std::set<std::string>& texts) {
  std::map<std::string, std::size_t> counts;
  for (const std::string& text : texts) counts[text] = 2;
  const auto form = find_topic_form(counts);
  if (!form) return false;
  std::vector<TopicParts> all;
  std::set<std::string> forms;
  for (const std::string& text : texts) {
    auto parts = form->parts(text);
    if (!parts) return false;
    forms.insert(parts->before + "{symbol}" + parts->after);
    all.push_back(std::move(*parts));
  }
  const auto found = symbol_form_of(all);
  if (!found) {
    for (const TopicParts& parts : all)
      into.settings().symbol_words[parts.before + parts.symbol + parts.after] = parts.symbol;
    into.note("symbol_words", "those of the sample", Sure::likely, "no symbol_form reads them all");
    into.ask("symbol_words: each text with a symbol in it needs a line, such as \"" + *texts.begin() + "\" = \"" +
             all.front().symbol + "\"; those of the sample have one");
    return true;
  }
  into.settings().symbol_form = *found;
  if (found->find('*') != std::string::npos) into.settings().subscribe_form.assign(forms.begin(), forms.end());
  into.note("symbol_form", *found, Sure::sure, "every symbol is written so");
  return true;
}

std::string affix_of(const std::set<std::string>& found, bool front) {
  if (found.size() == 1) return *found.begin();
  const char mark = front ? found.rbegin()->back() : found.rbegin()->front();
  return front ? std::string("*") + mark : std::string(1, mark) + "*";
}

void ask_for_numbers(UnitFindings& into, const std::set<std::string>& texts) {
  const bool numbers =
      std::all_of(texts.begin(), texts.end(), [](const std::string& text) { return number_in(text).has_value(); });
  if (numbers && sort_of(into.sorts(), MessageKind::naming) == nullptr)
    into.ask("symbol_words: symbols are numbers, and no message of the sample says which symbol is which");
}

void find_small_letters(UnitFindings& into, const std::set<std::string>& texts) {
  const bool small = std::all_of(texts.begin(), texts.end(), [](const std::string& text) {
    return std::none_of(text.begin(), text.end(), [](unsigned char c) { return std::isupper(c) != 0; }) &&
           std::any_of(text.begin(), text.end(), [](unsigned char c) { return std::islower(c) != 0; });
  });
  if (!small) return ask_for_numbers(into, texts);
  for (const std::string& text : texts) {
    std::string ours = text;
    std::transform(ours.begin(), ours.end(), ours.begin(),
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    into.settings().symbol_names[ours] = text;
  }
  into.note("symbol_names", "those of the sample", Sure::sure, "the source writes symbols in small letters");
  into.ask("symbol_names: the source writes symbols in small letters; each that you watch needs a line, KLVN = \"klvn\"");
}

}  // namespace

void find_symbol_form(UnitFindings& into) {
  const auto texts = symbol_texts(into);
  if (texts.empty() || find_topic_form_in(into, texts)) return;
  const auto affixes = affixes_of(texts);
  std::set<std::string> before, after, forms;
  for (const std::string& text : texts) {
    const auto parts = parts_of(text, affixes);
    if (!parts) return find_small_letters(into, texts);
    before.insert(parts->before);
    after.insert(parts->after);
    forms.insert(parts->before + "{symbol}" + parts->after);
  }
  into.settings().symbol_form = affix_of(before, true) + "{symbol}" + affix_of(after, false);
  if (into.settings().symbol_form.find('*') != std::string::npos)
    into.settings().subscribe_form.assign(forms.begin(), forms.end());
  into.note("symbol_form", into.settings().symbol_form, texts.size() > 1 ? Sure::sure : Sure::likely,
            "every symbol is written so");
}

}  // namespace brimwatch
