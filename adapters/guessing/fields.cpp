#include "adapters/guessing/fields.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>

#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

constexpr double kEnough = 0.33;  ///< below that a field is not guessed
constexpr double kStrongName = 0.65, kGoodBehaviour = 0.5, kConclusive = 0.85;

std::string percent(double share) {
  char text[16];
  std::snprintf(text, sizeof text, share < 0.0095 ? "%.1f %%" : "%.0f %%", share * 100);
  return text;
}

std::string join(const std::string& a, const std::string& b) { return a.empty() ? b : b.empty() ? a : a + "; " + b; }

bool is_upper(const std::string& text) {
  return std::none_of(text.begin(), text.end(), [](unsigned char c) { return std::islower(c) != 0; });
}

struct TextLooks {
  double upper = 0, single = 0, tape_word = 0, length = 0, mic = 0;
};

constexpr std::string_view kNoSymbols =
    " USD EUR GBP CAD JPY BUY SELL B S BID ASK US USA EQUITY STOCK STK EQ CS TRUE FALSE OK NASDAQ NYSE ARCA ";

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

double known_share(const PointerColumn& column, const std::set<std::string>& symbols) {
  double count = 0, known = 0;
  for (const Leaf* leaf : column.cells) {
    if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
    ++count;
    known += symbols.count(leaf->text) != 0;
  }
  return count > 0 ? known / count : 0;
}

struct SymbolFit {
  double total = 0, name = 0, parts = 0, known = 0;
};

SymbolFit symbol_fit(const Table& table, const PointerColumn& column, const Known& known) {
  SymbolFit out;
  const bool text = column.texts > 0.9 && column.symbols > 0.9;
  const bool number =
      column.numeric > 0.95 && column.whole == 1 && column.truths == 0 && column.distinct * 2 <= column.given;
  if ((!text && !number) || column.time || column.present < 0.7) return out;
  out.name = name_speaks_for(Field::symbol, column.name);
  out.parts = parts_prices(table, column);
  out.known = known_share(column, known.symbols);
  out.total = (out.name < 0 ? -0.4 : 0.5 * out.name) + 0.4 * out.parts + 0.35 * out.known;
  if (number) return out.total -= out.parts > 0.6 ? 0.1 : 0.5, out;
  const TextLooks looks = looks_of(column);
  out.total += 0.15 * looks.upper + (looks.length >= 2 && looks.length <= 12 ? 0.12 : 0) - 0.35 * looks.single -
               0.4 * looks.mic - (looks.tape_word > 0.5 ? 0.6 : 0);
  if (column.pointer.starts_with("frame:")) out.total -= 0.05;
  if (column.given > 4 && column.distinct == column.given)
    out.total -= 0.25;  // each its own: more like a number of a trade
  return out;
}

/// How a column fits a field: what the name says, what the values do.
struct Fit {
  double total = 0, name = 0, behaviour = 0;
  std::string why;
};

bool is_price_field(Field field) {
  return field == Field::price || field == Field::bid || field == Field::ask || field == Field::low ||
         field == Field::high || field == Field::old_price;
}

bool is_size_field(Field field) {
  return field == Field::size || field == Field::bid_size || field == Field::ask_size || field == Field::old_size;
}

std::string prices_move(const Behaviour& behaviour, const Table& table) {
  if (!behaviour.steps_seen) return "numbers that can be prices";
  return (table.group_count > 1 ? "within " + percent(behaviour.spread) + " of each other for each symbol"
                                : "within " + percent(behaviour.spread) + " of each other");
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

/// A few short codes; where the name says it, a few words or numbers of any length too.
bool may_be_exchange(const PointerColumn& column) {
  constexpr std::size_t kMarketsMost = 20;
  constexpr double kCodeLongest = 8, kWordsLongest = 40, kNumberMost = 1000, kNamed = 0.8;
  if (column.time || column.lists > 0 || column.fractions > 0 || column.truths > 0) return false;
  if (column.distinct > kMarketsMost) return false;
  const double length = looks_of(column).length;
  if (name_speaks_for(Field::exchange, column.name) >= kNamed) return length <= kWordsLongest;
  return column.most < kNumberMost && length <= kCodeLongest;
}

/// Whether the values can be such a field at all, and how much they are like one.
std::optional<double> can_be(Field field, const PointerColumn& column, const Behaviour& b) {
  const bool numeric = column.numeric > 0.95 && column.truths == 0 && column.least >= 0;
  if (is_price_field(field)) {
    if (!numeric || column.time || column.most == 0) return std::nullopt;
    return column.least > 0 || field != Field::price ? b.price : 0;
  }
  if (is_size_field(field)) return numeric && !column.time ? std::optional(b.size) : std::nullopt;
  switch (field) {
    case Field::day_volume:
      return numeric && !column.time ? std::optional(b.cumulative) : std::nullopt;
    case Field::time:
      if (!column.time) return std::nullopt;
      return column.rising > 0.85 || b.rising > 0.85 || column.time == TimeFormat::rfc3339 ? 0.9 : 0.7;
    case Field::conditions:
      if (column.time || column.fractions > 0 || column.truths > 0 || column.numeric * column.least > 1e6)
        return std::nullopt;
      return std::max(condition_looks(column), column.lists > 0.5 || column.distinct <= 12 ? 0.5 : 0.1);
    case Field::odd_lot:
      if (column.truths > 0.9 || (column.numeric > 0.9 && column.most <= 1)) return 0.5;
      return std::nullopt;
    case Field::exchange:
      return may_be_exchange(column) ? std::optional(0.6) : std::nullopt;
    case Field::id:
      if (column.time == TimeFormat::rfc3339 || column.lists > 0 || column.truths > 0) return std::nullopt;
      if (column.fractions > 0 && column.numeric > 0.5) return std::nullopt;
      return column.time ? b.id * 0.4 : b.id;
    case Field::status:
      if (column.time || column.lists > 0 || column.fractions > 0 || column.distinct > 8) return std::nullopt;
      return looks_of(column).tape_word > 0.5 || column.truths > 0.9 ? 0.7 : 0.4;
    case Field::number:
      return numeric && column.whole == 1 && !column.time ? std::optional(b.id) : std::nullopt;
    default:
      break;
  }
  return std::nullopt;
}

std::string why_so(Field field, const Table& table, const PointerColumn& column, const Behaviour& b) {
  if (is_price_field(field)) return prices_move(b, table);
  if (is_size_field(field))
    return std::string(column.whole == 1 ? "whole numbers" : "numbers") + (b.steps_seen ? " that rise and fall" : "");
  if (field == Field::day_volume) return b.cumulative >= 0.6 ? "only grows for each symbol" : "whole numbers";
  if (field == Field::time) return column.rising > 0.85 ? "times, rising" : "times";
  if (field == Field::id) return column.distinct == column.given ? "no two alike" : "mostly differ";
  if (field == Field::conditions) return column.lists > 0.5 ? "lists of short codes" : "a few short codes";
  return column.distinct == 1 ? "one value" : std::to_string(column.distinct) + " different values";
}

/// Four capitals or digits, as ISO 10383 has them; and each comes with several symbols, so that they are none themselves.
bool are_market_codes(const Table& table, const PointerColumn& column) {
  constexpr std::size_t kLetters = 4, kCodesMost = 20;
  if (column.texts < 1 || column.distinct < 2 || column.distinct > kCodesMost || table.group_count < 2) return false;
  std::map<std::string, std::set<std::size_t>> groups;
  for (std::size_t i = 0; i < column.cells.size(); ++i) {
    const Leaf* leaf = column.cells[i];
    if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
    const bool code = leaf->text.size() == kLetters && std::isupper(static_cast<unsigned char>(leaf->text[0])) != 0 &&
                      std::all_of(leaf->text.begin(), leaf->text.end(),
                                  [](unsigned char c) { return std::isupper(c) != 0 || std::isdigit(c) != 0; });
    if (!code) return false;
    groups[leaf->text].insert(table.groups[i]);
  }
  return std::all_of(groups.begin(), groups.end(), [](const auto& row) { return row.second.size() > 1; });
}

bool needs_name(Field field) {
  return field == Field::exchange || field == Field::odd_lot || field == Field::old_price || field == Field::old_size ||
         field == Field::low || field == Field::high || field == Field::number || field == Field::bid ||
         field == Field::ask || field == Field::bid_size || field == Field::ask_size;
}

/// The object that a value stands in.
std::string_view object_of(std::string_view pointer) { return pointer.substr(0, pointer.rfind('/')); }

/// Around an object stand the values of the objects that it is in, and those around all messages of a frame.
bool stands_around(std::string_view pointer, std::string_view object) {
  constexpr std::string_view kFrame = "frame:";
  if (pointer.starts_with(kFrame)) return !object.starts_with(kFrame);
  const std::string_view own = object_of(pointer);
  return own.size() < object.size() && object.starts_with(own) && object[own.size()] == '/';
}

/// The unit that a column's times are whole in, in nanoseconds.
std::int64_t unit_of(const PointerColumn& column) {
  std::int64_t unit = kSecond;
  for (const Leaf* leaf : column.cells) {
    const auto at = leaf == nullptr ? std::nullopt : time_in(leaf->text, *column.time);
    while (at && unit > 1 && at->ns % unit != 0) unit /= 1000;
  }
  return unit;
}

class Assigner {
 public:
  Assigner(const Table& table, MessageKind kind, const Known& known) : table_(table), kind_(kind), known_(known) {
    for (const PointerColumn& column : table_.columns) {
      behaviours_.push_back(behaviour_of(table_, column));
      units_.push_back(column.time ? unit_of(column) : kSecond);
    }
    if (kind_ == MessageKind::trade || kind_ == MessageKind::quote) find_row();
  }

  FieldGuesses assign() {
    take_symbol();
    if (kind_ == MessageKind::trade || kind_ == MessageKind::day) take_rising_pair();
    for (;;) {
      const auto best = best_pair();
      if (!best) break;
      take(best->field, best->column, best->fit);
    }
    if (kind_ == MessageKind::quote || kind_ == MessageKind::day) take_spread();
    if (kind_ == MessageKind::quote) take_sizes();
    if (kind_ == MessageKind::bar) take_range();
    for (auto& [field, guess] : out_) guess.name = table_.find(guess.pointer)->name;
    return std::move(out_);
  }

 private:
  struct Pair {
    Field field;
    std::size_t column;
    Fit fit;
  };

  [[nodiscard]] bool is_free(std::size_t column) const {
    return used_.count(column) == 0 && known_.tellers.count(table_.columns[column].pointer) == 0;
  }

  void take_symbol() {
    if (auto symbol = guess_symbol(table_, known_)) {
      use(symbol->pointer);
      out_[Field::symbol] = std::move(*symbol);
    }
  }

  /// The object that holds the price, or the bid.
  void find_row() {
    double most = kEnough;
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      const Fit fit = fit_of(kind_ == MessageKind::trade ? Field::price : Field::bid, i);
      if (fit.name > 0 && fit.total > most + 1e-9) most = fit.total, row_ = object_of(table_.columns[i].pointer);
    }
  }

  void use(const std::string& pointer) {
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      if (table_.columns[i].pointer == pointer) used_.insert(i);
    }
  }

  /// A total that rises by just what another value says proves both: the day's volume and the trade's size.
  void take_rising_pair() {
    for (std::size_t total = 0; total < table_.columns.size(); ++total) {
      if (!is_free(total) || behaviours_[total].cumulative < 0.5) continue;
      for (std::size_t size = 0; size < table_.columns.size(); ++size) {
        if (size == total || !is_free(size) || table_.columns[size].numeric < 0.95 || table_.columns[size].time) continue;
        if (name_speaks_for(Field::size, table_.columns[size].name) < 0 || table_.columns[size].is_constant()) continue;
        for (const double factor : {1.0, 100.0, 10.0, 1000.0, 0.01, 0.001}) {
          const bool rises = rises_by(table_, table_.columns[total], table_.columns[size], factor) >= 0.7 ||
                             rises_in_all_by(table_, table_.columns[total], table_.columns[size], factor);
          if (!rises) continue;
          const std::string why = "the day's volume at " + table_.columns[total].pointer + " rises by it";
          take(Field::size, size, {1, 1, 1, why + (factor == 1 ? "" : ", in other units")});
          take(Field::day_volume, total, {1, 1, 1, "rises by " + table_.columns[size].pointer + " with each message"});
          return;
        }
      }
    }
  }

  [[nodiscard]] Fit fit_of(Field field, std::size_t number) const {
    const PointerColumn& column = table_.columns[number];
    Fit fit;
    const auto behaviour = can_be(field, column, behaviours_[number]);
    const double least = field == Field::conditions || field == Field::exchange || field == Field::odd_lot ? 0 : 0.5;
    if (!behaviour || column.present < least || is_clock(column)) return fit;
    fit.behaviour = *behaviour;
    fit.name = name_speaks_for(field, column.name);
    if (kind_ == MessageKind::cancel &&
        (field == Field::price || field == Field::size))  // what is taken back is all it has
      fit.name =
          std::max(fit.name, name_speaks_for(field == Field::price ? Field::old_price : Field::old_size, column.name));
    if (const auto usual = known_.usual.find(field); usual != known_.usual.end() && usual->second == column.pointer)
      fit.name = std::max(fit.name, 0.75);
    if (fit.name <= 0 && needs_name(field) && field != Field::exchange) return fit;
    if (fit.name < 0 && is_price_field(field)) return fit;
    if (field == Field::price && behaviours_[number].still) fit.behaviour *= 0.4;
    if (field == Field::id && fit.name < 0.9 && name_speaks_for(Field::sequence, column.name) > 0.9) return fit;
    if (fit.name == 0 && field == Field::status && *behaviour > 0.6 && column.texts > 0.5 &&
        looks_of(column).single < 0.5)
      fit.name = 0.3;  // words of a status; a letter may be anything's
    if (field == Field::exchange && fit.name == 0 && are_market_codes(table_, column)) fit.name = 0.4;
    if (fit.name <= 0 && (field == Field::status || field == Field::exchange)) return fit;
    if (fit.name <= 0 && field == Field::day_volume && table_.group_count < 2)
      return fit;  // as well a number of the trade
    if (fit.name <= 0 && field == Field::conditions && condition_looks(column) == 0) return fit;
    fit.total = 0.55 * std::max(fit.name, 0.0) + 0.45 * fit.behaviour - (fit.name < 0 ? 0.2 : 0);
    if (column.pointer.starts_with("frame:")) fit.total -= 0.06;
    if (field == Field::size)
      fit.total -= behaviours_[number].cumulative >= 0.8 ? 0.35 : behaviours_[number].cumulative >= 0.6 ? 0.05 : 0;
    if (field == Field::time) {
      constexpr double kLater = 0.15, kOfTheEnvelope = 0.45;
      if (has_earlier(number)) fit.total -= kLater;
      if (has_time_in_row(number)) fit.total -= kOfTheEnvelope;
      fit.total += fineness(number);
    }
    fit.why = why_so(field, table_, column, behaviours_[number]);
    return fit;
  }

  /// A time of day, which no format reads, is nothing else either; of whole numbers that may as well be numbers of trades
  /// the name decides, where nothing else is a time.
  [[nodiscard]] bool is_clock(const PointerColumn& column) const {
    if (column.clock || !column.maybe_clock) return column.clock;
    const bool other = std::any_of(table_.columns.begin(), table_.columns.end(),
                                   [](const PointerColumn& one) { return one.time.has_value(); });
    return !other && name_speaks_for(Field::time, column.name) >= 0.8;
  }

  /// A trade happens before it is published, sent and received: of several times that pass, the earliest is the trade's.
  [[nodiscard]] bool has_earlier(std::size_t number) const {
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      const PointerColumn& other = table_.columns[i];
      if (i == number || !other.time || other.is_constant() || other.present < 0.5) continue;
      if (is_earlier(i, number)) return true;
    }
    return false;
  }

  /// The same time in a coarser unit is not an earlier one.
  [[nodiscard]] bool is_earlier(std::size_t one, std::size_t than) const {
    const Order order = order_of(one, than);
    return order.judged > 0 && 2 * order.before > order.judged && order.after == 0;
  }

  /// A message carried in another's envelope has its own time beside its price; that of the envelope says when it was
  /// sent. One that the envelope comes before, or that is far from it, is of something else.
  [[nodiscard]] bool has_time_in_row(std::size_t number) const {
    if (!stands_around(table_.columns[number].pointer, row_)) return false;
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      const PointerColumn& other = table_.columns[i];
      if (!other.time || other.is_constant() || other.present < 0.5 || !is_free(i)) continue;
      if (object_of(other.pointer) != row_ || is_earlier(number, i)) continue;
      const double name = name_speaks_for(Field::time, other.name);
      const Order order = order_of(i, number);
      const bool near = order.judged > 0 && 10 * order.near >= 9 * order.judged;
      if (near && (name > 0.5 || (name >= 0 && is_earlier(i, number)))) return true;
    }
    return false;
  }

  /// Of times that are equal otherwise that of the finer unit.
  [[nodiscard]] double fineness(std::size_t number) const {
    constexpr double kStep = 0.004;
    double out = 0;
    for (std::int64_t unit = units_[number]; unit < kSecond; unit *= 1000) out += kStep;
    return out;
  }

  struct Order {
    std::size_t judged = 0, before = 0, after = 0, near = 0;
  };

  /// How the times of the one stand to those of another, both in the coarser unit of the two.
  [[nodiscard]] Order order_of(std::size_t one, std::size_t another) const {
    const PointerColumn &other = table_.columns[one], &column = table_.columns[another];
    const std::int64_t unit = std::max(units_[one], units_[another]);
    Order out;
    for (std::size_t i = 0; i < column.cells.size(); ++i) {
      const auto a = other.cells[i] == nullptr ? std::nullopt : time_in(other.cells[i]->text, *other.time);
      const auto b = column.cells[i] == nullptr ? std::nullopt : time_in(column.cells[i]->text, *column.time);
      if (!a || !b) continue;
      const std::int64_t apart = b->ns / unit - a->ns / unit, hour = kHour / unit;
      ++out.judged;
      out.before += apart > 0 && apart < hour;
      out.after += apart < 0;
      out.near += apart < hour && -apart < hour;
    }
    return out;
  }

  [[nodiscard]] std::optional<Pair> best_pair() const {
    std::optional<Pair> best;
    for (const Field field : fields_for(kind_)) {
      if (out_.count(field) != 0) continue;
      for (std::size_t i = 0; i < table_.columns.size(); ++i) {
        if (!is_free(i)) continue;
        Fit fit = fit_of(field, i);
        if (fit.total >= kEnough && (!best || fit.total > best->fit.total + 1e-9)) best = Pair{field, i, std::move(fit)};
      }
    }
    return best;
  }

  /// The best that another free column would be for the same field.
  [[nodiscard]] double runner_up(Field field, std::size_t but) const {
    double best = 0;
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      if (i != but && is_free(i)) best = std::max(best, fit_of(field, i).total);
    }
    return best;
  }

  void take(Field field, std::size_t column, const Fit& fit) {
    const std::string& pointer = table_.columns[column].pointer;
    const double other = runner_up(field, column);
    const bool by_name = fit.name >= kStrongName && fit.behaviour >= kGoodBehaviour && fit.total - other > 0.08;
    const bool by_values = fit.behaviour >= kConclusive && fit.total - other > 0.25 && fit.name >= 0;
    const bool both = fit.name >= 1 && fit.behaviour >= 1;
    // Where an earlier time stands in the same message, this one may be when it was sent, whatever it is called.
    const bool may_be_later = field == Field::time && has_earlier(column);
    const std::string named = fit.name >= kStrongName && !both ? "named so" : "";
    out_[field] = {pointer, !may_be_later && (both || by_name || by_values) ? Sure::sure : Sure::likely,
                   join(named, fit.why)};
    used_.insert(column);
  }

  [[nodiscard]] std::vector<std::size_t> prices_left() const {
    std::vector<std::size_t> out;
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      const PointerColumn& column = table_.columns[i];
      const bool number = column.numeric > 0.95 && column.least > 0 && !column.time && column.present > 0.8;
      const bool range = kind_ != MessageKind::bar && std::max(name_speaks_for(Field::low, column.name),
                                                               name_speaks_for(Field::high, column.name)) > 0.8;
      if (is_free(i) && number && !range && behaviours_[i].price >= 0.4 &&
          name_speaks_for(Field::price, column.name) >= 0)
        out.push_back(i);
    }
    return out;
  }

  [[nodiscard]] double gap(std::size_t low, std::size_t high) const {
    const double a = table_.columns[low].most, b = table_.columns[high].most;
    return b > 0 ? std::abs(b - a) / b : 1;
  }

  /// Of two prices side by side the lower is the bid; the sizes follow in the same order.
  void take_spread() {
    if (out_.count(Field::bid) != 0 || out_.count(Field::ask) != 0) return;
    const auto prices = prices_left();
    for (const std::size_t low : prices) {
      for (const std::size_t high : prices) {
        if (low == high || stays_under(table_.columns[low], table_.columns[high]) < 0.97 || gap(low, high) > 0.05)
          continue;
        if (stays_under(table_.columns[high], table_.columns[low]) > 0.5) continue;
        set(Field::bid, low, "never above " + table_.columns[high].pointer + ", and near it");
        return set(Field::ask, high, "never under " + table_.columns[low].pointer + ", and near it");
      }
    }
  }

  void set(Field field, std::size_t column, std::string why) {
    out_[field] = {table_.columns[column].pointer, Sure::likely, std::move(why)};
    used_.insert(column);
  }

  [[nodiscard]] std::size_t place_of(Field field) const {
    const std::string& pointer = out_.at(field).pointer;
    return static_cast<std::size_t>(table_.find(pointer) - table_.columns.data());
  }

  /// Sizes without a name of their own stand in the order of the prices.
  void take_sizes() {
    if (out_.count(Field::bid) == 0 || out_.count(Field::ask) == 0 ||
        out_.count(Field::bid_size) + out_.count(Field::ask_size) > 0)
      return;
    std::vector<std::size_t> sizes;
    for (std::size_t i = 0; i < table_.columns.size(); ++i) {
      if (is_free(i) && behaviours_[i].size >= 0.5 && !table_.columns[i].time && behaviours_[i].id < 0.8)
        sizes.push_back(i);
    }
    if (sizes.size() < 2) return;
    if (place_of(Field::ask) < place_of(Field::bid)) std::swap(sizes[0], sizes[1]);
    set(Field::bid_size, sizes[0], "in the order of the prices");
    set(Field::ask_size, sizes[1], "in the order of the prices");
  }

  /// Of four prices the one never under the others is the high; the close begins the next bar.
  void take_range() {
    if (out_.count(Field::high) != 0 || out_.count(Field::low) != 0) return;
    auto prices = prices_left();
    if (const auto price = out_.find(Field::price); price != out_.end()) {
      for (std::size_t i = 0; i < table_.columns.size(); ++i) {
        if (table_.columns[i].pointer == price->second.pointer) prices.push_back(i);
      }
    }
    std::sort(prices.begin(), prices.end());
    if (prices.size() < 4) return;
    std::optional<std::size_t> high, low;
    for (const std::size_t one : prices) {
      const auto under = [&](std::size_t other) {
        return stays_under(table_.columns[other], table_.columns[one]) > 0.99;
      };
      const auto over = [&](std::size_t other) { return stays_under(table_.columns[one], table_.columns[other]) > 0.99; };
      if (!high && std::all_of(prices.begin(), prices.end(), under)) high = one;
      else if (!low && std::all_of(prices.begin(), prices.end(), over)) low = one;
    }
    if (!high || !low) return;
    set(Field::high, *high, "never under the other prices");
    set(Field::low, *low, "never above the other prices");
    std::erase_if(prices, [&](std::size_t one) { return one == *high || one == *low; });
    set(Field::price, prices.back(), "the last of the two prices that are left: the close");
  }

  const Table& table_;
  const MessageKind kind_;
  const Known& known_;
  std::vector<Behaviour> behaviours_;
  std::vector<std::int64_t> units_;  ///< of the columns of times, in nanoseconds
  std::string_view row_;             ///< the object that holds the price
  std::set<std::size_t> used_;
  FieldGuesses out_;
};

}  // namespace

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

namespace {

/// Where no symbol stands, the number that other messages have beside each symbol.
std::optional<FieldGuess> number_of_symbol(const Table& table, const Known& known) {
  for (const auto& [pointer, numbers] : known.numbers) {
    const PointerColumn* column = table.find(pointer);
    if (column != nullptr && column->present > 0.9 && known_share(*column, numbers) > 0.9)
      return FieldGuess{pointer, Sure::sure, "numbers that other messages have beside each symbol"};
  }
  return std::nullopt;
}

}  // namespace

std::optional<FieldGuess> guess_symbol(const Table& table, const Known& known) {
  const PointerColumn* best = nullptr;
  SymbolFit most, second;
  for (const PointerColumn& column : table.columns) {
    if (known.tellers.count(column.pointer) != 0 || column.pointer == "event") continue;
    const SymbolFit fit = symbol_fit(table, column, known);
    if (fit.total > most.total) second = most, most = fit, best = &column;
    else if (fit.total > second.total) second = fit;
  }
  if (best == nullptr || most.total < 0.25) return number_of_symbol(table, known);
  const double margin = most.total - second.total;
  const bool proved = most.parts > 0.8 || most.known > 0.9;
  const bool sure = margin > 0.15 && most.name >= 0 && (proved || most.name >= 0.9) && (most.total > 0.55);
  std::string why = most.name >= kStrongName ? "named so" : "";
  if (most.parts > 0.5) why = join(why, "prices of one value are near each other, of another elsewhere");
  else if (best->is_constant()) why = join(why, "one value only");
  if (most.known > 0.9) why = join(why, "the symbols of other messages");
  return FieldGuess{best->pointer, sure ? Sure::sure : Sure::likely, why.empty() ? "written like a symbol" : why};
}

FieldGuesses guess_fields(const Table& table, MessageKind kind, const Known& known) {
  return Assigner(table, kind, known).assign();
}

}  // namespace brimwatch
