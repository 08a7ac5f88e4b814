#include "adapters/guessing/fields/looks.h"

#include <algorithm>
#include <cctype>
#include <map>
#include <set>

#include "adapters/feeds/decoding/flag.h"
#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

constexpr std::string_view kNoSymbols =
    " USD EUR GBP CAD JPY BUY SELL B S BID ASK US USA EQUITY STOCK STK EQ CS TRUE FALSE OK NASDAQ NYSE ARCA ";

bool is_upper(const std::string& text) {
  return std::none_of(text.begin(), text.end(), [](unsigned char c) { return std::islower(c) != 0; });
}

bool is_market_code(const std::string& text) {
  constexpr std::size_t kLetters = 4;
  return text.size() == kLetters && std::isupper(static_cast<unsigned char>(text[0])) != 0 &&
         std::all_of(text.begin(), text.end(),
                     [](unsigned char c) { return std::isupper(c) != 0 || std::isdigit(c) != 0; });
}

/// "T" and "F" are yes and no, and sale conditions of the tape.
bool is_a_condition_too(const std::string& text) {
  return text.size() == 1 && std::string_view("TtFf").find(text[0]) != std::string_view::npos;
}

}  // namespace

TextLooks looks_of(const PointerColumn& column) {
  TextLooks out;
  double count = 0;
  for (const Leaf* leaf : column.cells) {
    if (leaf == nullptr || leaf->kind != Leaf::Kind::text) continue;
    ++count;
    const std::string& text = leaf->text;
    out.upper += is_upper(text);
    out.single += text.size() == 1;
    out.length += static_cast<double>(text.size());
    out.mic += text.size() == 4 && text[0] == 'X' && is_upper(text);
    const bool parted = text.find_first_of(".:/@|-_#") != text.npos;  // "trade.KLVN" is a symbol for all that
    out.tape_word += kNoSymbols.find(" " + text + " ") != std::string_view::npos || (!parted && kind_of_word(text)) ||
                     condition_of_word(text).has_value() || (!parted && !status_of_word(text, {}).empty());
  }
  if (count == 0) return out;
  for (double* part : {&out.upper, &out.single, &out.length, &out.mic, &out.tape_word}) *part /= count;
  return out;
}

std::optional<bool> flag_in(const Leaf& leaf) {
  if (leaf.kind == Leaf::Kind::list) return std::nullopt;
  if (leaf.kind == Leaf::Kind::nothing || leaf.text.empty()) return false;
  return is_a_condition_too(leaf.text) ? std::nullopt : flag_in_text(leaf.text);
}

bool are_truths_in_letters(const PointerColumn& column) {
  return std::all_of(column.cells.begin(), column.cells.end(), [](const Leaf* leaf) {
    return leaf == nullptr || leaf->kind == Leaf::Kind::nothing ||
           (leaf->kind != Leaf::Kind::list && flag_in_text(leaf->text).has_value());
  });
}

bool are_flags(const PointerColumn& column) {
  bool any = false;
  for (const Leaf* leaf : column.cells) {
    if (leaf == nullptr) continue;
    if (!flag_in(*leaf)) return false;
    any = any || (leaf->kind != Leaf::Kind::nothing && !leaf->text.empty());
  }
  return any;
}

double condition_looks(const PointerColumn& column) {
  if (column.lists > 0.5) return 0.9;
  std::size_t known = 0, all = 0;
  for (const Leaf* leaf : column.cells) {
    if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
    ++all;
    known += leaf->text.empty() || leaf->text.find('@') != std::string::npos || condition_of_word(leaf->text).has_value();
  }
  return all > 0 && 2 * known > all && column.texts > 0.5 ? 0.85 : 0;
}

bool may_be_exchange(const PointerColumn& column) {
  constexpr std::size_t kMarketsMost = 20;
  constexpr double kCodeLongest = 8, kWordsLongest = 40, kNumberMost = 1000, kNamed = 0.8;
  if (column.time || column.lists > 0 || column.fractions > 0 || column.truths > 0) return false;
  if (column.distinct > kMarketsMost) return false;
  const double length = looks_of(column).length;
  if (name_speaks_for(Field::exchange, column.name) >= kNamed) return length <= kWordsLongest;
  return column.most < kNumberMost && length <= kCodeLongest;
}

bool are_market_codes(const Table& table, const PointerColumn& column) {
  constexpr std::size_t kCodesMost = 20;
  if (column.texts < 1 || column.distinct < 2 || column.distinct > kCodesMost || table.group_count < 2) return false;
  std::map<std::string, std::set<std::size_t>> groups;
  for (std::size_t i = 0; i < column.cells.size(); ++i) {
    const Leaf* leaf = column.cells[i];
    if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
    if (!is_market_code(leaf->text)) return false;
    groups[leaf->text].insert(table.groups[i]);
  }
  return std::all_of(groups.begin(), groups.end(), [](const auto& row) { return row.second.size() > 1; });
}

}  // namespace brimwatch
