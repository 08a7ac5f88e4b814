#include "adapters/guessing/fields/relations.h"
#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

/// How many times the other value the total rises by; 0: it does not.
double rise_of(const Table& table, const PointerColumn& total, const PointerColumn& size) {
  for (const double factor : {1.0, 100.0, 10.0, 1000.0, 0.01, 0.001}) {
    if (rises_by(table, total, size, factor) >= 0.7 || rises_in_all_by(table, total, size, factor)) return factor;
  }
  return 0;
}

bool may_be_size_of_rise(const PointerColumn& column) {
  return column.numeric >= 0.95 && !column.time && name_speaks_for(Field::size, column.name) >= 0 &&
         !column.is_constant();
}

/// Whether there was one beside this total.
bool take_with_total(FieldsInHand& hand, Fitter& fitter, std::size_t total) {
  const std::vector<PointerColumn>& columns = hand.table.columns;
  for (std::size_t size = 0; size < columns.size(); ++size) {
    if (size == total || !hand.is_free(size) || !may_be_size_of_rise(columns[size])) continue;
    const double factor = rise_of(hand.table, columns[total], columns[size]);
    if (factor == 0) continue;
    const std::string why = "the day's volume at " + columns[total].pointer + " rises by it";
    fitter.take(Field::size, size, {1, 1, 1, why + (factor == 1 ? "" : ", in other units")});
    fitter.take(Field::day_volume, total, {1, 1, 1, "rises by " + columns[size].pointer + " with each message"});
    return true;
  }
  return false;
}

}  // namespace

void take_rising_pair(FieldsInHand& hand, Fitter& fitter) {
  for (std::size_t total = 0; total < hand.table.columns.size(); ++total) {
    const bool may_be = hand.is_free(total) && hand.behaviours[total].cumulative >= 0.5;
    if (may_be && take_with_total(hand, fitter, total)) return;
  }
}

}  // namespace brimwatch
