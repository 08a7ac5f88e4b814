#include "adapters/guessing/entries.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "adapters/guessing/shape_of_value.h"

namespace brimwatch {
namespace {

/// Where a pointer enters a list: before, which entry, behind.
struct Entry {
  std::string before, behind;
  std::size_t place = 0;

  [[nodiscard]] std::string next() const { return before + "/" + std::to_string(place + 1) + behind; }
};

std::vector<Entry> entries_in(const std::string& pointer) {
  std::vector<Entry> out;
  for (std::size_t at = pointer.find('/'); at != pointer.npos; at = pointer.find('/', at + 1)) {
    const std::size_t end = std::min(pointer.find('/', at + 1), pointer.size());
    const std::string token = pointer.substr(at + 1, end - at - 1);
    const bool number = !token.empty() && token.size() < 3 &&
                        std::all_of(token.begin(), token.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (number) out.push_back({pointer.substr(0, at), pointer.substr(end), std::stoul(token)});
  }
  return out;
}

std::optional<double> number_at(const Record& record, const std::string& pointer) {
  const Leaf* leaf = record.find(pointer);
  return leaf == nullptr || leaf->kind == Leaf::Kind::truth ? std::nullopt : number_in(leaf->text);
}

/// The next entry has the like in some messages and not in others, or always one that is near.
bool goes_on(const std::vector<Record>& records, const SortGuess& guess, const std::string& pointer, const Entry& entry) {
  std::size_t there = 0, near = 0;
  for (const std::size_t i : guess.sort.records) {
    const auto one = number_at(records[i], pointer), next = number_at(records[i], entry.next());
    there += next.has_value();
    near += one && next && std::abs(*one - *next) <= 0.1 * std::abs(*one);
  }
  return there > 0 && (there < guess.sort.records.size() || near == there);
}

/// A list of numbers that is now longer, now shorter.
bool is_series(const std::vector<Record>& records, const SortGuess& guess, const std::string& list) {
  std::size_t least = SIZE_MAX, most = 0;
  for (const std::size_t i : guess.sort.records) {
    const Leaf* leaf = records[i].find(list);
    if (leaf == nullptr || leaf->kind != Leaf::Kind::list) continue;
    if (!std::all_of(leaf->items.begin(), leaf->items.end(),
                     [](const auto& item) { return number_in(item).has_value(); }))
      return false;
    least = std::min(least, leaf->items.size());
    most = std::max(most, leaf->items.size());
  }
  return most > 1 && least != most;
}

bool reads_first_only(const std::vector<Record>& records, const SortGuess& guess, const std::string& pointer) {
  for (const Entry& entry : entries_in(pointer)) {
    const bool more =
        entry.behind.empty() ? is_series(records, guess, entry.before) : goes_on(records, guess, pointer, entry);
    if (more) return true;
  }
  return false;
}

}  // namespace

std::vector<std::string> doubt_first_entries(const std::vector<Record>& records, std::vector<SortGuess>& guesses) {
  std::vector<std::string> out;
  for (SortGuess& guess : guesses) {
    if (guess.kind != MessageKind::trade && guess.kind != MessageKind::bar) continue;
    std::string first;
    for (const Field field : {Field::price, Field::size}) {
      const auto found = guess.fields.find(field);
      if (found == guess.fields.end() || !reads_first_only(records, guess, found->second.pointer)) continue;
      first = found->second.pointer;
    }
    if (first.empty()) continue;
    for (const Field field : {Field::price, Field::size, Field::time}) {
      const auto found = guess.fields.find(field);
      if (found == guess.fields.end()) continue;
      found->second.sure = Sure::likely;
      found->second.why += "; but of a list only this entry would be read";
    }
    out.push_back("messages: " + first +
                  " reads one entry of a list, and messages have more, which would be lost; no "
                  "mapping reads these all; can the source send them one by one?");
  }
  return out;
}

}  // namespace brimwatch
