#include <algorithm>
#include <cmath>
#include <optional>

#include "adapters/guessing/names.h"
#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

bool speaks_of_lots(const SortGuess& guess, Field field) {
  const auto found = guess.fields.find(field);
  if (found == guess.fields.end()) return false;
  const auto words = words_in(found->second.name.substr(found->second.name.rfind('/') + 1));
  return std::any_of(words.begin(), words.end(), [](const std::string& w) { return w == "lot" || w == "lots"; });
}

std::optional<int> told_lot(const UnitFindings& into) {
  for (const Record& record : into.records()) {
    for (const auto& [pointer, leaf] : record.leaves) {
      const auto words = words_in(pointer.substr(pointer.rfind('/') + 1));
      const bool lot = words.size() >= 2 && std::find(words.begin(), words.end(), "lot") != words.end() &&
                       std::find(words.begin(), words.end(), "size") != words.end();
      const auto number = lot ? number_in(leaf.text) : std::nullopt;
      if (number && (*number == 10 || *number == 100 || *number == 1000)) return static_cast<int>(*number);
    }
  }
  return std::nullopt;
}

/// By how much the day's volume rises for each share of a trade's size; 0: not known.
double rise_factor(const UnitFindings& into, const SortGuess& trades) {
  const auto volume = trades.fields.find(Field::day_volume), size = trades.fields.find(Field::size);
  if (volume == trades.fields.end()) return 0;
  std::vector<const Record*> of_sort;
  for (const std::size_t i : trades.sort.records) of_sort.push_back(&into.records()[i]);
  Table table = table_of(of_sort);
  if (const auto symbol = trades.fields.find(Field::symbol); symbol != trades.fields.end())
    group_by(table, symbol->second.pointer);
  const PointerColumn* total = table.find(volume->second.pointer);
  const PointerColumn* each = table.find(size->second.pointer);
  if (total == nullptr || each == nullptr) return 0;
  for (const double factor : {1.0, 100.0, 10.0, 1000.0, 0.01, 0.001, 0.1}) {
    if (rises_by(table, *total, *each, factor) >= 0.7) return factor;
  }
  for (const double factor : {1.0, 100.0, 10.0, 1000.0, 0.01, 0.001, 0.1}) {
    if (rises_in_all_by(table, *total, *each, factor)) return factor;
  }
  return 0;
}

void set_lots(UnitFindings& into, int lot, int volume_lot, Sure sure, const std::string& why) {
  into.settings().lot_size = lot;
  into.settings().volume_lot_size = volume_lot;
  into.note("lot_size", std::to_string(lot), sure, why);
  if (volume_lot > 1)
    into.note("volume_lot_size", std::to_string(volume_lot), sure, "rises by the sizes, which are lots");
}

void ask_for_lots(UnitFindings& into, const SortGuess& trades) {
  const auto sizes = into.values_at(trades, Field::size);
  const bool small =
      std::all_of(sizes.begin(), sizes.end(), [](const Leaf* leaf) { return number_in(leaf->text).value_or(0) <= 60; });
  if (small && sizes.size() >= 6 && trades.fields.count(Field::day_volume) == 0)
    into.ask("lot_size: all sizes are small; are they shares, or lots of 100?");
}

}  // namespace

void find_lots(UnitFindings& into) {
  const SortGuess* trades = sort_of(into.sorts(), MessageKind::trade);
  if (trades == nullptr || trades->fields.count(Field::size) == 0) return;
  const double factor = rise_factor(into, *trades);
  const bool lots = speaks_of_lots(*trades, Field::size);
  if (factor >= 10) {
    return set_lots(into, static_cast<int>(factor), 1, Sure::sure,
                    "the day's volume rises by " + std::to_string(static_cast<int>(factor)) + " times each size");
  }
  if (factor > 0 && factor < 1) {
    into.settings().volume_lot_size = static_cast<int>(std::lround(1 / factor));
    return into.note("volume_lot_size", std::to_string(into.settings().volume_lot_size), Sure::sure,
                     "the day's volume rises by a part of each size");
  }
  if (!lots) return ask_for_lots(into, *trades);
  const auto told = told_lot(into);
  set_lots(into, told.value_or(100), factor == 1 ? told.value_or(100) : 1, told ? Sure::sure : Sure::likely,
           told ? "the source says how many shares a lot has" : "named so; a lot is a hundred shares (common practice)");
  if (!told) into.ask("lot_size: sizes are called lots; are they of 100 shares?");
}

}  // namespace brimwatch
