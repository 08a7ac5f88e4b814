#include "adapters/guessing/layout.h"

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "adapters/guessing/shape_of_value.h"

namespace brimwatch {
namespace {

using Fields = std::map<Field, std::string>;

/// Of each kind, its pointers: of several sorts of one kind, those of the one with most messages come first.
std::map<MessageKind, Fields> pointers_by_kind(const std::vector<SortGuess>& guesses) {
  std::map<MessageKind, Fields> out;
  for (const SortGuess& guess : guesses) {
    if (!is_market(guess.kind)) continue;
    Fields& fields = out[guess.kind];
    for (const auto& [field, found] : guess.fields) fields.try_emplace(field, found.pointer);
  }
  return out;
}

class Layout {
 public:
  Layout(const FoundPlaces& places, const Sorts& sorts, const std::vector<SortGuess>& guesses, FeedSettings& settings)
      : places_(places), sorts_(sorts), guesses_(guesses), settings_(settings), by_kind_(pointers_by_kind(guesses)) {}

  void make() {
    settings_.default_kind.clear();
    lay_fields();
    lay_places();
    lay_values();
    lay_words();
    lay_wordless();
  }

 private:
  using Form = GuessedPlace::Form;

  [[nodiscard]] bool reads(MessageKind kind, Field field) const {
    const auto& fields = fields_for(kind);
    return field == Field::symbol || std::find(fields.begin(), fields.end(), field) != fields.end();
  }

  /// Whether messages of the kind have something at the pointer which is not that field.
  [[nodiscard]] bool stands_there(MessageKind kind, const std::string& pointer) const {
    for (const SortGuess& guess : guesses_) {
      if (guess.kind != kind) continue;
      for (const std::size_t i : guess.sort.records) {
        if (places_.records[i].find(pointer) != nullptr) return true;
      }
    }
    return false;
  }

  /// Another kind that reads the field, and not from there, would take what is not meant, or miss what has to be.
  [[nodiscard]] bool is_common(MessageKind of, Field field, const std::string& pointer) const {
    return std::all_of(by_kind_.begin(), by_kind_.end(), [&](const auto& row) {
      const auto& [kind, fields] = row;
      if (kind == of || !reads(kind, field)) return true;
      const auto own = fields.find(field);
      if (own != fields.end()) return true;  // it has its own pointer, or the same
      return field != Field::time && !stands_there(kind, pointer);
    });
  }

  void lay_fields() {
    const MessageKind main = main_kind(guesses_);
    lay_kind(main);
    for (const auto& [kind, fields] : by_kind_) {
      if (kind != main) lay_kind(kind);
    }
    if (settings_.fields.symbol.empty()) {
      for (const auto& [kind, fields] : by_kind_) {
        if (const auto symbol = fields.find(Field::symbol); symbol != fields.end())
          settings_.fields.symbol = symbol->second;
      }
    }
  }

  void lay_kind(MessageKind kind) {
    const auto found = by_kind_.find(kind);
    if (found == by_kind_.end()) return;
    for (const auto& [field, pointer] : found->second) {
      std::string& common = pointer_in(settings_.fields, field);
      if (common == pointer) continue;
      if (common.empty() && is_common(kind, field, pointer)) common = pointer;
      else pointer_in(settings_.fields_of[std::string(kind_word(kind))], field) = pointer;
    }
  }

  /// The place where most messages of a kind stand.
  [[nodiscard]] std::size_t place_of(MessageKind kind) const {
    std::map<std::size_t, std::size_t> counts;
    for (const SortGuess& guess : guesses_) {
      if (guess.kind != kind) continue;
      for (const std::size_t i : guess.sort.records) ++counts[places_.records[i].place];
    }
    const auto most =
        std::max_element(counts.begin(), counts.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
    return most == counts.end() ? 0 : most->first;
  }

  void lay_places() {
    const auto& places = places_.places;
    settings_.fields.messages = places.front().pointer;
    settings_.columns = places.front().form == Form::columns;
    std::set<std::size_t> done{0};
    for (const auto& [kind, fields] : by_kind_) {
      const std::size_t place = place_of(kind);
      if (place != 0 && done.insert(place).second)
        settings_.fields_of[std::string(kind_word(kind))].messages = places[place].pointer;
    }
  }

  static std::string place_in(const std::string& pointer) {
    const std::size_t at = pointer.find('\x01');
    return pointer.substr(0, at);
  }

  /// As an equals of a rule: a part of a topic has a star in place of the symbol.
  static std::string pattern(const std::string& pointer, const std::string& word) {
    if (pointer.ends_with(kTopicHead)) return word + "*";
    return pointer.ends_with(kTopicTail) ? "*" + word : word;
  }

  void add_rule(const std::string& pointer, const std::string& word, MessageKind kind) {
    const MessageRule rule{place_in(pointer), pattern(pointer, word), std::string(kind_word(kind))};
    if (std::find(settings_.rules.begin(), settings_.rules.end(), rule) == settings_.rules.end())
      settings_.rules.push_back(rule);
  }

  [[nodiscard]] std::optional<MessageKind> only_kind(const std::string Sort::*part, const std::string& word) const {
    std::optional<MessageKind> kind;
    for (const SortGuess& guess : guesses_) {
      if (guess.sort.*part != word || !guess.at.empty()) continue;
      if (kind && *kind != guess.kind) return std::nullopt;
      kind = guess.kind;
    }
    return kind;
  }

  void lay_values() {
    for (const SortGuess& guess : guesses_) {
      if (!guess.at.empty()) add_rule(guess.at, guess.equals, guess.kind);
    }
  }

  void lay_words() {
    if (sorts_.kind_pointer.empty()) return;
    const bool topic = sorts_.kind_pointer.find('\x01') != std::string::npos;
    for (const SortGuess& guess : guesses_) {
      const std::string& word = guess.sort.word;
      if (word.empty() || !guess.at.empty()) continue;
      if (!only_kind(&Sort::word, word)) lay_one_of_several(guess, topic);
      else if (topic) add_rule(sorts_.kind_pointer, word, guess.kind);
      else settings_.kind_words[word] = kind_word(guess.kind);
    }
    if (!topic) settings_.fields.kind = sorts_.kind_pointer;
  }

  /// What no rule tells from the others under its word is what the word says when none of these rules fits.
  void lay_one_of_several(const SortGuess& guess, bool topic) {
    const std::size_t rules = settings_.rules.size();
    lay_second(guess);
    if (settings_.rules.size() == rules && !topic && !has_rule(guess) && is_most_of_its_word(guess))
      settings_.kind_words[guess.sort.word] = kind_word(guess.kind);
  }

  [[nodiscard]] bool has_rule(const SortGuess& guess) const {
    return std::any_of(settings_.rules.begin(), settings_.rules.end(),
                       [&](const MessageRule& rule) { return rule.kind == kind_word(guess.kind); });
  }

  /// Sorts come with that of most messages first.
  [[nodiscard]] bool is_most_of_its_word(const SortGuess& guess) const {
    const auto first = std::find_if(guesses_.begin(), guesses_.end(),
                                    [&](const SortGuess& other) { return other.sort.word == guess.sort.word; });
    return &*first == &guess;
  }

  /// One word for several kinds: a second word tells them, or what is there.
  void lay_second(const SortGuess& guess) {
    const std::string& second = guess.sort.second;
    if (!second.empty() && only_kind(&Sort::second, second)) return add_rule(sorts_.second_pointer, second, guess.kind);
    lay_presence(guess);
  }

  [[nodiscard]] bool has_at(const SortGuess& guess, const std::string& pointer, bool all) const {
    const auto has = [&](std::size_t i) {
      const Leaf* leaf = places_.records[i].find(pointer);
      return leaf != nullptr && leaf->kind != Leaf::Kind::nothing;
    };
    const auto& records = guess.sort.records;
    return all ? std::all_of(records.begin(), records.end(), has) : std::any_of(records.begin(), records.end(), has);
  }

  [[nodiscard]] bool tells_alone(const SortGuess& guess, const std::string& pointer) const {
    return has_at(guess, pointer, true) && std::all_of(guesses_.begin(), guesses_.end(), [&](const SortGuess& other) {
             return other.kind == guess.kind || !has_at(other, pointer, false);
           });
  }

  /// What this sort has and no other kind: what it is for comes first.
  void lay_presence(const SortGuess& guess) {
    for (const Field field : fields_for(guess.kind)) {
      const auto found = guess.fields.find(field);
      if (found != guess.fields.end() && tells_alone(guess, found->second.pointer))
        return add_rule(found->second.pointer, "*", guess.kind);
    }
    for (const auto& [pointer, leaf] : places_.records[guess.sort.records.front()].leaves) {
      if (leaf.kind != Leaf::Kind::list && tells_alone(guess, pointer)) return add_rule(pointer, "*", guess.kind);
    }
    lay_value(guess);
  }

  /// A value that is the same in all of them, and stands in no other kind.
  void lay_value(const SortGuess& guess) {
    for (const auto& [pointer, leaf] : places_.records[guess.sort.records.front()].leaves) {
      const bool word =
          leaf.kind == Leaf::Kind::text && !leaf.text.empty() && leaf.text.size() <= 30 && !number_in(leaf.text);
      if (!word && leaf.kind != Leaf::Kind::truth) continue;  // a number, or a time, is another the next time
      const auto same = [&, &where = pointer, &what = leaf](std::size_t i) {
        const Leaf* other = places_.records[i].find(where);
        return other != nullptr && other->text == what.text;
      };
      const bool ours = std::all_of(guess.sort.records.begin(), guess.sort.records.end(), same);
      const bool theirs = std::any_of(guesses_.begin(), guesses_.end(), [&](const SortGuess& other) {
        return other.kind != guess.kind && std::any_of(other.sort.records.begin(), other.sort.records.end(), same);
      });
      if (ours && !theirs) return add_rule(pointer, leaf.text, guess.kind);
    }
  }

  /// Messages without a word: by what they have; one kind alone needs no rule.
  void lay_wordless() {
    std::set<MessageKind> market;
    for (const SortGuess& guess : guesses_) {
      if (guess.sort.word.empty() && is_market(guess.kind)) market.insert(guess.kind);
    }
    for (const SortGuess& guess : guesses_) {
      if (!guess.sort.word.empty() || guess.sure == Sure::asked || !guess.at.empty()) continue;
      if (is_market(guess.kind) && (market.size() == 1 || has_place(guess.kind))) {
        if (place_of(guess.kind) == 0) settings_.default_kind = kind_word(guess.kind);
        continue;
      }
      lay_presence(guess);
    }
  }

  /// A place of its own says what a message is.
  [[nodiscard]] bool has_place(MessageKind kind) const {
    const std::size_t place = place_of(kind);
    return std::none_of(guesses_.begin(), guesses_.end(), [&](const SortGuess& other) {
      return is_market(other.kind) && other.kind != kind && place_of(other.kind) == place;
    });
  }

  const FoundPlaces& places_;
  const Sorts& sorts_;
  const std::vector<SortGuess>& guesses_;
  FeedSettings& settings_;
  std::map<MessageKind, Fields> by_kind_;
};

}  // namespace

std::string& pointer_in(FieldMap& map, Field field) {
  constexpr std::string FieldMap::*kMembers[] = {
      &FieldMap::symbol,   &FieldMap::price,    &FieldMap::size,     &FieldMap::time,      &FieldMap::conditions,
      &FieldMap::odd_lot,  &FieldMap::exchange, &FieldMap::id,       &FieldMap::kind,      &FieldMap::day_volume,
      &FieldMap::bid,      &FieldMap::ask,      &FieldMap::bid_size, &FieldMap::ask_size,  &FieldMap::status,
      &FieldMap::sequence, &FieldMap::low,      &FieldMap::high,     &FieldMap::old_price, &FieldMap::old_size,
      &FieldMap::number};
  static_assert(std::size(kMembers) == kFields);
  return map.*kMembers[static_cast<std::size_t>(field)];
}

const SortGuess* sort_of(const std::vector<SortGuess>& guesses, MessageKind kind) {
  const auto found = std::find_if(guesses.begin(), guesses.end(), [&](const auto& guess) { return guess.kind == kind; });
  return found == guesses.end() ? nullptr : &*found;
}

MessageKind main_kind(const std::vector<SortGuess>& guesses) {
  for (const MessageKind kind : {MessageKind::trade, MessageKind::day, MessageKind::bar, MessageKind::quote}) {
    if (sort_of(guesses, kind) != nullptr) return kind;
  }
  return MessageKind::trade;
}

void lay_out(const FoundPlaces& places, const Sorts& sorts, const std::vector<SortGuess>& guesses,
             FeedSettings& settings) {
  Layout(places, sorts, guesses, settings).make();
}

}  // namespace brimwatch
