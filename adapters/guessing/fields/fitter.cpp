#include "adapters/guessing/fields/fitter.h"

#include <algorithm>

#include "adapters/guessing/fields/evidence.h"
#include "adapters/guessing/fields/looks.h"
#include "adapters/guessing/fields/possible.h"
#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

constexpr double kEnough = 0.33;  ///< below that a field is not guessed
constexpr double kGoodBehaviour = 0.5, kConclusive = 0.85;

double least_present(Field field) {
  return field == Field::conditions || field == Field::exchange || field == Field::odd_lot ? 0 : 0.5;
}

}  // namespace

Fitter::Fitter(FieldsInHand& hand) : hand_(hand), times_(hand) {
  if (hand_.kind == MessageKind::trade || hand_.kind == MessageKind::quote) find_row();
}

void Fitter::take_all() {
  while (const auto best = best_pair()) take(best->field, best->column, best->fit);
}

void Fitter::find_row() {
  double most = kEnough;
  for (std::size_t i = 0; i < hand_.table.columns.size(); ++i) {
    const Fit fit = fit_of(hand_.kind == MessageKind::trade ? Field::price : Field::bid, i);
    if (fit.name > 0 && fit.total > most + 1e-9) most = fit.total, row_ = object_of(hand_.table.columns[i].pointer);
  }
}

Fit Fitter::fit_of(Field field, std::size_t number) const {
  const PointerColumn& column = hand_.table.columns[number];
  Fit fit;
  const auto behaviour = can_be(field, column, hand_.behaviours[number]);
  if (!behaviour || column.present < least_present(field) || times_.is_clock(column)) return fit;
  fit.behaviour = *behaviour;
  fit.name = name_of(field, column, fit.behaviour);
  if (is_barred(field, column, fit.name)) return fit;
  if (field == Field::price && hand_.behaviours[number].still) fit.behaviour *= 0.4;
  weigh(field, number, fit);
  fit.why = why_so(field, hand_.table, column, hand_.behaviours[number]);
  return fit;
}

double Fitter::name_of(Field field, const PointerColumn& column, double behaviour) const {
  double name = name_speaks_for(field, column.name);
  if (hand_.kind == MessageKind::cancel &&
      (field == Field::price || field == Field::size))  // what is taken back is all it has
    name = std::max(name, name_speaks_for(field == Field::price ? Field::old_price : Field::old_size, column.name));
  if (const auto usual = hand_.known.usual.find(field);
      usual != hand_.known.usual.end() && usual->second == column.pointer)
    name = std::max(name, 0.75);
  if (name == 0 && field == Field::status && behaviour > 0.6 && column.texts > 0.5 && looks_of(column).single < 0.5)
    name = 0.3;  // words of a status; a letter may be anything's
  if (name == 0 && field == Field::exchange && are_market_codes(hand_.table, column)) name = 0.4;
  return name;
}

bool Fitter::is_barred(Field field, const PointerColumn& column, double name) const {
  if (name < 0 && is_price_field(field)) return true;
  if (field == Field::id && name < 0.9 && name_speaks_for(Field::sequence, column.name) > 0.9) return true;
  if (name > 0) return false;
  if (needs_name(field) || field == Field::status) return true;
  if (field == Field::day_volume) return hand_.table.group_count < 2;  // as well a number of the trade
  return field == Field::conditions && condition_looks(column) == 0;
}

void Fitter::weigh(Field field, std::size_t number, Fit& fit) const {
  fit.total = 0.55 * std::max(fit.name, 0.0) + 0.45 * fit.behaviour - (fit.name < 0 ? 0.2 : 0);
  if (hand_.table.columns[number].pointer.starts_with("frame:")) fit.total -= 0.06;
  const double cumulative = hand_.behaviours[number].cumulative;
  if (field == Field::size) fit.total -= cumulative >= 0.8 ? 0.35 : cumulative >= 0.6 ? 0.05 : 0;
  if (field != Field::time) return;
  constexpr double kLater = 0.15, kOfTheEnvelope = 0.45;
  if (times_.has_earlier(number)) fit.total -= kLater;
  if (times_.has_time_in_row(number, row_)) fit.total -= kOfTheEnvelope;
  fit.total += times_.fineness(number);
}

std::optional<Fitter::Pair> Fitter::best_pair() const {
  std::optional<Pair> best;
  for (const Field field : fields_for(hand_.kind)) {
    if (hand_.out.count(field) != 0) continue;
    for (std::size_t i = 0; i < hand_.table.columns.size(); ++i) {
      if (!hand_.is_free(i)) continue;
      Fit fit = fit_of(field, i);
      if (fit.total >= kEnough && (!best || fit.total > best->fit.total + 1e-9)) best = Pair{field, i, std::move(fit)};
    }
  }
  return best;
}

/// The best that another free column would be for the same field.
double Fitter::runner_up(Field field, std::size_t but) const {
  double best = 0;
  for (std::size_t i = 0; i < hand_.table.columns.size(); ++i) {
    if (i != but && hand_.is_free(i)) best = std::max(best, fit_of(field, i).total);
  }
  return best;
}

void Fitter::take(Field field, std::size_t column, const Fit& fit) {
  const std::string& pointer = hand_.table.columns[column].pointer;
  const double other = runner_up(field, column);
  const bool by_name = fit.name >= kStrongName && fit.behaviour >= kGoodBehaviour && fit.total - other > 0.08;
  const bool by_values = fit.behaviour >= kConclusive && fit.total - other > 0.25 && fit.name >= 0;
  const bool both = fit.name >= 1 && fit.behaviour >= 1;
  // Where an earlier time stands in the same message, this one may be when it was sent, whatever it is called.
  const bool may_be_later = field == Field::time && times_.has_earlier(column);
  const std::string named = fit.name >= kStrongName && !both ? "named so" : "";
  hand_.out[field] = {pointer, !may_be_later && (both || by_name || by_values) ? Sure::sure : Sure::likely,
                      joined(named, fit.why)};
  hand_.used.insert(column);
}

}  // namespace brimwatch
