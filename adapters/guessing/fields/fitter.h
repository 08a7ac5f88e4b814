#pragma once
// How columns fit fields: what the name says, what the values do. The best pair of all is taken, then the next. Pure.
#include <optional>
#include <string>
#include <string_view>

#include "adapters/guessing/fields/times.h"

namespace brimwatch {

struct Fit {
  double total = 0, name = 0, behaviour = 0;
  std::string why;
};

class Fitter {
 public:
  explicit Fitter(FieldsInHand& hand);

  /// As long as any free column fits any field that is left.
  void take_all();
  void take(Field field, std::size_t column, const Fit& fit);

 private:
  struct Pair {
    Field field;
    std::size_t column;
    Fit fit;
  };

  void find_row();
  [[nodiscard]] Fit fit_of(Field field, std::size_t number) const;
  [[nodiscard]] double name_of(Field field, const PointerColumn& column, double behaviour) const;
  /// Values alone do not make it such a field, or its name speaks against it.
  [[nodiscard]] bool is_barred(Field field, const PointerColumn& column, double name) const;
  void weigh(Field field, std::size_t number, Fit& fit) const;
  [[nodiscard]] std::optional<Pair> best_pair() const;
  [[nodiscard]] double runner_up(Field field, std::size_t but) const;

  FieldsInHand& hand_;
  const TimesOfMessage times_;
  std::string_view row_;  ///< the object that holds the price, or the bid
};

}  // namespace brimwatch
