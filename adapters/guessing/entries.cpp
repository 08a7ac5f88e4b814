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
bool goes_on(const std::vector<const Record*>& records, const std::string& pointer, const Entry& entry) {
  std::size_t all = 0, there = 0, near = 0;
  for (const Record* record : records) {
    const auto one = number_at(*record, pointer), next = number_at(*record, entry.next());
    if (!one) continue;
    ++all;
    there += next.has_value();
    near += next && std::abs(*one - *next) <= 0.1 * std::abs(*one);
  }
  return there > 0 && (there < all || near == there);
}

/// A list of numbers that is now longer, now shorter.
bool is_series(const std::vector<const Record*>& records, const std::string& list) {
  std::size_t least = SIZE_MAX, most = 0;
  for (const Record* record : records) {
    const Leaf* leaf = record->find(list);
    if (leaf == nullptr || leaf->kind != Leaf::Kind::list) continue;
    if (!std::all_of(leaf->items.begin(), leaf->items.end(),
                     [](const auto& item) { return number_in(item).has_value(); }))
      return false;
    least = std::min(least, leaf->items.size());
    most = std::max(most, leaf->items.size());
  }
  return most > 1 && least != most;
}

bool reads_first_only(const std::vector<const Record*>& records, const std::string& pointer) {
  for (const Entry& entry : entries_in(pointer)) {
    const bool more = entry.behind.empty() ? is_series(records, entry.before) : goes_on(records, pointer, entry);
    if (more) return true;
  }
  return false;
}

/// Messages with one entry and with several may have been parted into sorts: all of the kind are looked at.
std::vector<const Record*> of_kind(const std::vector<Record>& records, const std::vector<SortGuess>& guesses,
                                   MessageKind kind) {
  std::vector<const Record*> out;
  for (const SortGuess& guess : guesses) {
    if (guess.kind != kind) continue;
    for (const std::size_t i : guess.sort.records) out.push_back(&records[i]);
  }
  return out;
}

}  // namespace

std::vector<std::string> doubt_first_entries(const std::vector<Record>& records, std::vector<SortGuess>& guesses) {
  std::vector<std::string> out;
  for (SortGuess& guess : guesses) {
    if (guess.kind != MessageKind::trade && guess.kind != MessageKind::bar) continue;
    const auto of_its_kind = of_kind(records, guesses, guess.kind);
    std::string first;
    for (const Field field : {Field::price, Field::size}) {
      const auto found = guess.fields.find(field);
      if (found == guess.fields.end() || !reads_first_only(of_its_kind, found->second.pointer)) continue;
      first = found->second.pointer;
    }
    if (first.empty()) continue;
    for (const Field field : {Field::price, Field::size, Field::time}) {
      const auto found = guess.fields.find(field);
      if (found == guess.fields.end()) continue;
      found->second.sure = Sure::likely;
      found->second.why += "; but of a list only this entry would be read";
    }
    std::string question = "messages: " + first +
                           " reads one entry of a list, and messages have more, which would be lost; no mapping reads "
                           "these all; can the source send them one by one?";
    if (std::find(out.begin(), out.end(), question) == out.end()) out.push_back(std::move(question));
  }
  return out;
}

}  // namespace brimwatch
