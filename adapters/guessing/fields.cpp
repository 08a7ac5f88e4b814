#include "adapters/guessing/fields.h"

#include <utility>

#include "adapters/guessing/fields/relations.h"

namespace brimwatch {

std::string_view word_of(Sure sure) {
  switch (sure) {
    case Sure::asked:
      return "asked";
    case Sure::likely:
      return "likely";
    case Sure::sure:
      break;
  }
  return "sure";
}

std::string field_name(Field field) {
  constexpr const char* kWords[] = {"symbol", "price",    "size",       "time", "conditions", "odd_lot",  "exchange",
                                    "id",     "kind",     "day_volume", "bid",  "ask",        "bid_size", "ask_size",
                                    "status", "sequence", "low",        "high", "old_price",  "old_size", "number"};
  return kWords[static_cast<std::size_t>(field)];
}

const std::vector<Field>& fields_for(MessageKind kind) {
  static const std::vector<Field> kTrade{Field::price, Field::size,       Field::time,     Field::day_volume,
                                         Field::id,    Field::conditions, Field::exchange, Field::odd_lot};
  static const std::vector<Field> kQuote{Field::bid, Field::ask, Field::bid_size, Field::ask_size, Field::time};
  static const std::vector<Field> kCancel{Field::id, Field::price, Field::size, Field::time};
  static const std::vector<Field> kCorrect{Field::id,        Field::price,    Field::size,
                                           Field::old_price, Field::old_size, Field::time};
  static const std::vector<Field> kStatus{Field::status, Field::time};
  static const std::vector<Field> kBar{Field::price, Field::low, Field::high, Field::size, Field::time};
  static const std::vector<Field> kDay{Field::price,    Field::day_volume, Field::bid, Field::ask,
                                       Field::bid_size, Field::ask_size,   Field::time};
  static const std::vector<Field> kNaming{Field::number};
  static const std::vector<Field> kNone;
  switch (kind) {
    case MessageKind::trade:
      return kTrade;
    case MessageKind::quote:
      return kQuote;
    case MessageKind::cancel:
      return kCancel;
    case MessageKind::correct:
      return kCorrect;
    case MessageKind::status:
      return kStatus;
    case MessageKind::bar:
      return kBar;
    case MessageKind::day:
      return kDay;
    case MessageKind::naming:
      return kNaming;
    default:
      return kNone;
  }
}

FieldGuesses guess_fields(const Table& table, MessageKind kind, const Known& known) {
  FieldsInHand hand(table, kind, known);
  Fitter fitter(hand);
  if (auto symbol = guess_symbol(table, known)) {
    hand.use(symbol->pointer);
    hand.out[Field::symbol] = std::move(*symbol);
  }
  if (kind == MessageKind::trade || kind == MessageKind::day) take_rising_pair(hand, fitter);
  fitter.take_all();
  if (kind == MessageKind::trade) take_odd_lot(hand);
  if (kind == MessageKind::quote || kind == MessageKind::day) take_spread(hand);
  if (kind == MessageKind::quote) take_sizes(hand);
  if (kind == MessageKind::bar) take_range(hand);
  for (auto& [field, guess] : hand.out) guess.name = table.find(guess.pointer)->name;
  return std::move(hand.out);
}

}  // namespace brimwatch
