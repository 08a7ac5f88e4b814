#include "adapters/guessing/kinds.h"

#include <algorithm>
#include <array>
#include <map>

#include "adapters/guessing/names.h"
#include "adapters/guessing/volumes.h"

namespace brimwatch {
namespace {

constexpr double kWordSays = 0.5, kLetterSays = 0.3, kEnoughForKind = 0.5, kTotalProves = 0.6;
constexpr std::array kJudged{MessageKind::trade, MessageKind::quote, MessageKind::bar, MessageKind::day,
                             MessageKind::status};

struct Judged {
  MessageKind kind = MessageKind::unknown;
  double score = 0;
  FieldGuesses fields;
};

bool has(const FieldGuesses& fields, Field field) { return fields.count(field) != 0; }

bool is_sure(const FieldGuesses& fields, Field field) {
  const auto found = fields.find(field);
  return found != fields.end() && found->second.sure == Sure::sure;
}

double both(const FieldGuesses& fields, Field a, Field b) {
  if (!has(fields, a) || !has(fields, b)) return 0;
  return 0.5 + 0.2 * is_sure(fields, a) + 0.2 * is_sure(fields, b);
}

/// Bars begin at whole minutes; trades do so by chance only.
bool is_on_minutes(const Table& table, const FieldGuesses& fields) {
  const auto time = fields.find(Field::time);
  const PointerColumn* column = time == fields.end() ? nullptr : table.find(time->second.pointer);
  if (column == nullptr || !column->time) return false;
  return std::all_of(column->cells.begin(), column->cells.end(), [&](const Leaf* leaf) {
    const auto at = leaf == nullptr ? std::nullopt : time_in(leaf->text, *column->time);
    return !at || at->ns % kMinute == 0;
  });
}

/// A high that never falls and a low that never rises, for each symbol over many messages while the price moves, are the
/// day's, beside a trade or a quote. Those of bars begin anew; of one bar while it grows, the volume grows with them.
bool is_range_of_day(const Table& table, const FieldGuesses& fields) {
  constexpr std::size_t kStepsLeast = 8;
  const auto moves = [&](Field field) {
    const auto found = fields.find(field);
    return found == fields.end() ? Steps{} : steps_of(table, *table.find(found->second.pointer));
  };
  const Steps lows = moves(Field::low), highs = moves(Field::high), prices = moves(Field::price);
  if (lows.all < kStepsLeast || highs.all < kStepsLeast || lows.up > 0 || highs.down > 0) return false;
  if (prices.up == 0 || prices.down == 0 || is_on_minutes(table, fields)) return false;
  const Steps sizes = moves(Field::size);
  return fields.count(Field::size) == 0 || (sizes.up > 0 && sizes.down > 0);
}

/// How much of what such a message needs was found.
double found_of(MessageKind kind, const FieldGuesses& fields) {
  if (!has(fields, Field::symbol)) return 0;
  const double quote = both(fields, Field::bid, Field::ask);
  switch (kind) {
    case MessageKind::trade:
      return has(fields, Field::price) ? std::max(both(fields, Field::price, Field::size), 0.35) : 0;
    case MessageKind::quote:
      return quote == 0 ? 0 : quote + 0.1;
    case MessageKind::bar:
      return has(fields, Field::price)
                 ? (both(fields, Field::low, Field::high) > 0 ? both(fields, Field::low, Field::high) + 0.2 : 0)
                 : 0;
    case MessageKind::day:
      return has(fields, Field::price) && has(fields, Field::day_volume)
                 ? 0.45 + 0.1 * is_sure(fields, Field::day_volume) + (quote > 0 ? 0.7 : 0)
                 : 0;
    case MessageKind::status:
      return has(fields, Field::status) ? 0.55 : 0;
    default:
      return 0;
  }
}

/// Of words that have parts in common ("com.market.trade", "com.market.quote") those do not say the kind.
class OwnParts {
 public:
  OwnParts(const std::vector<Sort>& sorts, const std::string Sort::*part) {
    std::set<std::string> words;
    for (const Sort& sort : sorts) {
      if (!(sort.*part).empty()) words.insert(sort.*part);
    }
    for (const std::string& word : words) {
      const auto parts = words_in(word);
      for (const std::string& one : std::set<std::string>(parts.begin(), parts.end())) ++counts_[one];
    }
    words_ = words.size();
  }

  [[nodiscard]] std::optional<MessageKind> kind_of(const std::string& word) const {
    constexpr std::size_t kPartsOfAPath = 3;
    const auto parts = words_in(word);
    if (parts.size() < kPartsOfAPath || words_ < 2) return kind_of_word(word);
    std::string own;
    for (const std::string& part : parts) {
      if (counts_.at(part) < words_) own += (own.empty() ? "" : ".") + part;
    }
    return kind_of_word(own);
  }

 private:
  std::map<std::string, std::size_t> counts_;
  std::size_t words_ = 0;
};

std::optional<MessageKind> said_by(const Sort& sort, const OwnParts& firsts, const OwnParts& seconds) {
  const auto second = seconds.kind_of(sort.second);
  const auto first = firsts.kind_of(sort.word);
  const bool first_is_market = first && is_market(*first);
  return second && (is_market(*second) || !first_is_market) ? second : first;
}

/// An answer or a sign of life: told by any word in it.
MessageKind without_symbol(const Table& table, const std::optional<MessageKind>& said) {
  if (said && !is_market(*said)) return *said;
  for (const PointerColumn& column : table.columns) {
    const bool about_error =
        column.pointer.find("error") != std::string::npos || column.pointer.find("Error") != std::string::npos;
    for (const Leaf* leaf : column.cells) {
      if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
      if (about_error && leaf->text != "false" && leaf->text != "0" && !leaf->text.empty()) return MessageKind::refused;
      const auto kind = leaf->kind == Leaf::Kind::text ? kind_of_word(leaf->text) : std::nullopt;
      if (kind == MessageKind::refused || kind == MessageKind::accepted) return *kind;
    }
  }
  return MessageKind::ignore;
}

class Judge {
 public:
  Judge(const std::vector<Record>& records, const Sorts& sorts, const std::vector<PlaceNames>& names)
      : records_(records),
        sorts_(sorts),
        names_(names),
        firsts_(sorts.sorts, &Sort::word),
        seconds_(sorts.sorts, &Sort::second) {
    known_.tellers.insert(sorts.kind_pointer);
    known_.tellers.insert(sorts.second_pointer);
    for (const std::string& teller : std::set<std::string>(known_.tellers))
      if (teller.starts_with("frame:")) known_.tellers.insert(teller.substr(6));  // of whole frames
    for (const Sort& sort : sorts.sorts) {
      std::vector<const Record*> of_sort;
      for (const std::size_t i : sort.records) of_sort.push_back(&records[i]);
      tables_.push_back(table_of(of_sort));
      give_names(tables_.back(), sort, names);
    }
    learn_symbols();
  }

  std::vector<SortGuess> judge() {
    for (std::size_t i = 0; i < tables_.size(); ++i) out_.push_back(judge_sort(i));
    find_orders();
    find_numbers();
    judge_again_by_usual();
    take_back();
    find_namings();
    count_once();
    for (std::size_t i = 0; i < tables_.size(); ++i) settle_answers(out_[i], tables_[i]);
    return std::move(out_);
  }

 private:
  [[nodiscard]] std::optional<MessageKind> said_of(const Sort& sort) const {
    for (const auto& [word, pointer] :
         {std::pair(sort.second, sorts_.second_pointer), std::pair(sort.word, sorts_.kind_pointer)}) {
      const auto flag = word == "true" ? kind_of_word(pointer.substr(pointer.rfind('/') + 1)) : std::nullopt;
      if (flag == MessageKind::cancel || flag == MessageKind::correct) return flag;
    }
    return said_by(sort, firsts_, seconds_);
  }

  /// Only where there are as many places as names; of several such lists that which stands under the sort's own word.
  static void give_names(Table& table, const Sort& sort, const std::vector<PlaceNames>& lists) {
    const PlaceNames* best = nullptr;
    for (const PlaceNames& list : lists) {
      if (!has_places(table, list.names.size())) continue;
      const auto kind = kind_of_word(list.before);
      const bool ours = list.before == sort.word || (kind && kind == kind_of_word(sort.word));
      if (best == nullptr || ours) best = &list;
    }
    for (std::size_t i = 0; best != nullptr && i < best->names.size(); ++i) {
      for (PointerColumn& column : table.columns) {
        if (column.pointer == "/" + std::to_string(i)) column.name = pointer_to("", best->names[i]);
      }
    }
  }

  static bool has_places(const Table& table, std::size_t count) {
    return table.find("/" + std::to_string(count - 1)) != nullptr && table.find("/" + std::to_string(count)) == nullptr;
  }

  /// What each sort has for symbols, those that are sure of theirs before the others.
  void learn_symbols() {
    learned_.resize(tables_.size());
    for (const bool sure_ones : {true, false}) {
      const bool enough =
          std::any_of(learned_.begin(), learned_.end(), [](const auto& symbols) { return !symbols.empty(); });
      for (std::size_t i = 0; i < tables_.size() && !(enough && !sure_ones); ++i) {
        const auto symbol = guess_symbol(tables_[i], known_);
        if (symbol && (symbol->sure == Sure::sure) == sure_ones) learn_from(i, symbol->pointer);
      }
    }
  }

  void learn_from(std::size_t i, const std::string& pointer) {
    for (const Leaf* leaf : tables_[i].find(pointer)->cells) {
      if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) learned_[i].insert(leaf->text);
    }
  }

  /// With the symbols of the other sorts: its own prove nothing.
  [[nodiscard]] Known known_to(std::size_t i) const {
    Known out = known_;
    for (std::size_t other = 0; other < learned_.size(); ++other) {
      if (other != i) out.symbols.insert(learned_[other].begin(), learned_[other].end());
    }
    return out;
  }

  void group(std::size_t i) {
    const auto symbol = guess_symbol(tables_[i], known_to(i));
    group_by(tables_[i], symbol ? symbol->pointer : std::string());
  }

  SortGuess judge_sort(std::size_t i) {
    SortGuess guess;
    guess.sort = sorts_.sorts[i];
    if (is_line_of_names(i)) {
      guess.is = MessageKind::ignore;
      guess.sure = Sure::sure;
      guess.why = "the names of the places in the other lists";
      return guess;
    }
    group(i);
    const auto said = said_of(guess.sort);
    if (!guess_symbol(tables_[i], known_to(i))) {
      guess.is = without_symbol(tables_[i], said);
      guess.sure = said ? Sure::sure : Sure::likely;
      guess.why = "no symbol in it";
      return guess;
    }
    Judged best = best_kind(i, said);
    const auto answer = best.kind == MessageKind::status ? answer_in(i, best) : std::nullopt;
    if (answer && said != MessageKind::status) {
      guess.is = *answer;
      guess.sure = Sure::likely;
      guess.why = "an answer: its status says so";
      return guess;
    }
    settle(guess, std::move(best), said);
    return guess;
  }

  /// "ok" is no trading status: it is what a source says to what it was asked.
  [[nodiscard]] std::optional<MessageKind> answer_in(std::size_t i, const Judged& status) const {
    std::optional<MessageKind> out;
    for (const Leaf* leaf : tables_[i].find(status.fields.at(Field::status).pointer)->cells) {
      if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
      out = leaf->kind == Leaf::Kind::text ? kind_of_word(leaf->text) : std::nullopt;
      if (out != MessageKind::accepted && out != MessageKind::refused) return std::nullopt;
    }
    return out;
  }

  [[nodiscard]] bool is_line_of_names(std::size_t i) const {
    return std::any_of(names_.begin(), names_.end(), [&](const PlaceNames& list) { return is_line_of(i, list.names); });
  }

  [[nodiscard]] bool is_line_of(std::size_t i, const std::vector<std::string>& names) const {
    if (tables_[i].columns.size() < names.size()) return false;
    for (std::size_t place = 0; place < names.size(); ++place) {
      const PointerColumn* column = tables_[i].find("/" + std::to_string(place));
      if (column == nullptr || column->distinct != 1 || first_text(*column) != names[place]) return false;
    }
    return true;
  }

  Judged best_kind(std::size_t i, const std::optional<MessageKind>& said) {
    Judged best;
    for (const MessageKind kind : kJudged) {
      FieldGuesses fields = guess_fields(tables_[i], kind, known_to(i));
      double score = found_of(kind, fields);
      if (kind == MessageKind::bar && score > 0 && is_range_of_day(tables_[i], fields)) continue;
      if (kind == MessageKind::trade && score > 0 && is_proved_by_total(fields)) score += kTotalProves;
      const bool letter = sorts_.sorts[i].word.size() == 1;
      if (score > 0 && said == kind) score += letter ? kLetterSays : kWordSays;
      if (kind == MessageKind::status && has_price(i)) score -= 0.4;
      if (score > best.score) best = {kind, score, std::move(fields)};
    }
    return best;
  }

  /// The day's volume rises by each message's size: no trade between them is missing.
  static bool is_proved_by_total(const FieldGuesses& fields) {
    const auto total = fields.find(Field::day_volume);
    return total != fields.end() && has(fields, Field::size) && total->second.why.starts_with("rises by");
  }

  [[nodiscard]] bool has_price(std::size_t i) const {
    return std::any_of(tables_[i].columns.begin(), tables_[i].columns.end(),
                       [](const PointerColumn& column) { return column.fractions > 0.3 && !column.time; });
  }

  void settle(SortGuess& guess, Judged best, const std::optional<MessageKind>& said) {
    const bool takes_back = said == MessageKind::cancel || said == MessageKind::correct;
    if (said && !is_market(*said) && best.score < 0.9) {
      guess.is = *said;
      guess.sure = best.score > 0.5 ? Sure::likely : Sure::sure;
      guess.why = "named so";
      return;
    }
    if (best.score < kEnoughForKind && !takes_back) {
      guess.is = MessageKind::unknown;
      guess.sure = Sure::asked;
      guess.why = "a symbol, and nothing that tells what it says of it";
      return;
    }
    guess.is = best.kind;
    guess.fields = std::move(best.fields);
    guess.sure = said == best.kind || (!said && best.score > 0.8) ? Sure::sure : Sure::likely;
    guess.why = said == best.kind ? "named so, and has what one needs" : "has what one needs";
    if (said && said != best.kind && !takes_back)
      guess.why += "; its name says \"" + std::string(kind_word(*said)) + "\"";
  }

  /// Orders look like trades: a side, a price, a size, a number. But they are taken back by the dozen, by their numbers,
  /// and the trades come besides.
  void find_orders() {
    for (std::size_t i = 0; i < out_.size(); ++i) {
      const bool named = said_of(out_[i].sort) == MessageKind::trade && out_[i].sort.word.size() > 1;
      if (out_[i].is != MessageKind::trade || named || !is_taken_back_often(i)) continue;
      const bool others = std::any_of(out_.begin(), out_.end(), [&](const SortGuess& other) {
        return &other != &out_[i] && other.is == MessageKind::trade;
      });
      out_[i].sure = Sure::likely;
      out_[i].why += "; but other messages name so many of its numbers that these may be orders";
      if (!others) continue;
      out_[i].is = MessageKind::ignore;
      out_[i].fields.clear();
      out_[i].why = "orders: other messages name many of its numbers again, and trades come besides";
    }
  }

  [[nodiscard]] bool is_taken_back_often(std::size_t i) const {
    for (const PointerColumn& number : tables_[i].columns) {
      if (number.fractions > 0 || number.time || 10 * number.distinct < 9 * number.given) continue;
      std::set<std::string> numbers;
      for (const Leaf* leaf : number.cells)
        if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) numbers.insert(leaf->text);
      std::size_t again = 0;
      for (std::size_t other = 0; other < tables_.size(); ++other) {
        const PointerColumn* column = other == i ? nullptr : tables_[other].find(number.pointer);
        if (column == nullptr || out_[other].is == MessageKind::trade) continue;
        again +=
            static_cast<std::size_t>(std::count_if(column->cells.begin(), column->cells.end(), [&](const Leaf* leaf) {
              return leaf != nullptr && numbers.contains(leaf->text);
            }));
      }
      if (numbers.size() > 10 && 5 * again >= numbers.size()) return true;
    }
    return false;
  }

  [[nodiscard]] std::size_t main_sort() const {
    for (const MessageKind kind : kJudged) {
      for (std::size_t i = 0; i < out_.size(); ++i) {
        if (out_[i].is == kind) return i;
      }
    }
    return out_.size();
  }

  /// Where the trades have a value, other messages have it too, unless they say otherwise.
  void judge_again_by_usual() {
    const std::size_t main = main_sort();
    if (main == out_.size()) return;
    for (const auto& [field, guess] : out_[main].fields) {
      if (guess.sure == Sure::sure || field == Field::time || field == Field::symbol) known_.usual[field] = guess.pointer;
    }
    for (std::size_t i = 0; i < out_.size(); ++i) {
      if (i != main && is_market(out_[i].is)) out_[i].fields = guess_fields(tables_[i], out_[i].is, known_to(i));
    }
  }

  /// A number that stands beside each symbol, always the same, stands for it in messages that name no symbol.
  void find_numbers() {
    const std::size_t main = main_sort();
    if (main == out_.size() || !has(out_[main].fields, Field::symbol)) return;
    const PointerColumn* symbols = tables_[main].find(out_[main].fields.at(Field::symbol).pointer);
    if (symbols == nullptr || symbols->numeric > 0 || symbols->distinct < 2) return;
    for (const PointerColumn& column : tables_[main].columns) {
      if (column.numeric < 1 || column.whole < 1 || column.time || column.present < 1) continue;
      if (column.distinct == symbols->distinct && go_together(column, *symbols))
        known_.numbers[column.pointer] = values_of(column);
    }
    for (std::size_t i = 0; i < out_.size() && !known_.numbers.empty(); ++i) {
      const bool nothing = out_[i].is == MessageKind::ignore || out_[i].is == MessageKind::unknown;
      if (nothing && !guess_symbol(tables_[i], without_numbers(i))) out_[i] = judge_sort(i);
    }
  }

  [[nodiscard]] Known without_numbers(std::size_t i) const {
    Known out = known_to(i);
    out.numbers.clear();
    return out;
  }

  static bool go_together(const PointerColumn& a, const PointerColumn& b) {
    std::map<std::string, std::string> of_a;
    std::set<std::string> seen;
    for (std::size_t i = 0; i < a.cells.size(); ++i) {
      if (a.cells[i] == nullptr || b.cells[i] == nullptr) return false;
      const auto [place, fresh] = of_a.try_emplace(a.cells[i]->text, b.cells[i]->text);
      if (place->second != b.cells[i]->text || (fresh && !seen.insert(b.cells[i]->text).second)) return false;
    }
    return true;
  }

  static std::set<std::string> values_of(const PointerColumn& column) {
    std::set<std::string> out;
    for (const Leaf* leaf : column.cells) {
      if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) out.insert(leaf->text);
    }
    return out;
  }

  /// Numbers that stand for symbols elsewhere, beside names: they name them.
  void find_namings() {
    for (std::size_t i = 0; i < out_.size(); ++i) {
      const MessageKind is = out_[i].is;
      if (is != MessageKind::unknown && is != MessageKind::ignore && is != MessageKind::accepted) continue;
      for (const PointerColumn& column : tables_[i].columns) {
        if (column.numeric < 1 || column.whole < 1 || column.time || !is_symbol_elsewhere(column, i)) continue;
        Known fresh = known_;
        fresh.symbols.clear();
        fresh.tellers.insert(column.pointer);
        auto symbol = guess_symbol(tables_[i], fresh);
        if (!symbol) continue;
        out_[i].is = MessageKind::naming;
        out_[i].sure = Sure::likely;
        out_[i].why = "its numbers stand for the symbols of other messages";
        out_[i].fields = {{Field::symbol, *symbol},
                          {Field::number, {column.pointer, Sure::likely, "the symbols of other messages"}}};
        break;
      }
    }
  }

  [[nodiscard]] bool is_symbol_elsewhere(const PointerColumn& column, std::size_t but) const {
    for (std::size_t i = 0; i < out_.size(); ++i) {
      const auto symbol = out_[i].fields.find(Field::symbol);
      if (i == but || !is_market(out_[i].is) || symbol == out_[i].fields.end()) continue;
      const PointerColumn* theirs = tables_[i].find(symbol->second.pointer);
      if (theirs == nullptr || theirs->numeric < 1) continue;
      for (const Leaf* leaf : column.cells) {
        const bool there = leaf != nullptr &&
                           std::any_of(theirs->cells.begin(), theirs->cells.end(),
                                       [&](const Leaf* other) { return other != nullptr && other->text == leaf->text; });
        if (there) return true;
      }
    }
    return false;
  }

  /// A message that names the number of an earlier trade takes it back, or puts it right.
  void take_back() {
    const std::size_t main = main_sort();
    if (main == out_.size() || out_[main].is != MessageKind::trade) return;
    std::set<std::string> ids;
    const auto id = out_[main].fields.find(Field::id);
    if (id != out_[main].fields.end()) {
      for (const Leaf* leaf : tables_[main].find(id->second.pointer)->cells) {
        if (leaf != nullptr && leaf->kind != Leaf::Kind::nothing) ids.insert(leaf->text);
      }
    }
    for (std::size_t i = 0; i < out_.size(); ++i) {
      if (i != main) take_back(i, ids);
    }
  }

  void take_back(std::size_t i, const std::set<std::string>& ids) {
    SortGuess& guess = out_[i];
    const auto said = said_of(guess.sort);
    const bool named = said == MessageKind::cancel || said == MessageKind::correct;
    const bool trade_by_name = said == MessageKind::trade && !sorts_.kind_pointer.empty();
    const std::string pointer = id_of_another(i, ids);
    if (guess.is == MessageKind::quote || trade_by_name || (!named && pointer.empty())) return;
    if (!guess_symbol(tables_[i], known_to(i))) return;
    const bool new_value = has_named(i, Field::price) || has_named(i, Field::size);
    const bool new_price = (has_named(i, Field::old_price) && new_value) || prices_in(i) >= 2;
    const MessageKind kind = named && sorts_.sorts[i].word.size() + sorts_.sorts[i].second.size() > 1 ? *said
                             : new_price ? MessageKind::correct
                                         : MessageKind::cancel;
    guess.is = kind;
    guess.fields = guess_fields(tables_[i], kind, known_to(i));
    if (!pointer.empty()) {
      std::erase_if(guess.fields, [&](const auto& row) { return row.second.pointer == pointer; });
      guess.fields[Field::id] = {pointer, Sure::sure, "the numbers of earlier trades"};
    }
    guess.sure = named && !pointer.empty() ? Sure::sure : Sure::likely;
    guess.why = pointer.empty() ? "named so" : "names the number of an earlier trade";
  }

  [[nodiscard]] std::string id_of_another(std::size_t i, const std::set<std::string>& ids) const {
    for (const PointerColumn& column : tables_[i].columns) {
      std::size_t known = 0;
      for (const Leaf* leaf : column.cells) known += leaf != nullptr && ids.count(leaf->text) != 0;
      if (column.given > 0 && 10 * known >= 8 * column.given && column.fractions == 0 && column.time == std::nullopt &&
          (column.texts > 0.5 || column.least > 20))
        return column.pointer;
    }
    return {};
  }

  [[nodiscard]] bool has_named(std::size_t i, Field field) const {
    return std::any_of(tables_[i].columns.begin(), tables_[i].columns.end(), [&](const PointerColumn& column) {
      return column.numeric > 0.9 && !column.time && name_speaks_for(field, column.name) > 0.7;
    });
  }

  [[nodiscard]] std::size_t prices_in(std::size_t i) const {
    return static_cast<std::size_t>(std::count_if(
        tables_[i].columns.begin(), tables_[i].columns.end(),
        [](const PointerColumn& column) { return column.numeric > 0.9 && column.points > 0.4 && !column.time; }));
  }

  void count_once() {
    for (SortGuess& guess : out_) guess.kind = guess.is;
    count_volume_once(records_, out_);  // which may add sorts behind these
    for (std::size_t i = 0; i < tables_.size(); ++i) {
      if (out_[i].is != MessageKind::trade || out_[i].kind != MessageKind::ignore) continue;
      if (has(out_[i].fields, Field::day_volume)) make_day(i);
    }
  }

  /// A trade that is told again, with the day's volume: it counts nothing twice as a state of the day.
  void make_day(std::size_t i) {
    FieldGuesses fields = guess_fields(tables_[i], MessageKind::day, known_to(i));
    if (!has(fields, Field::day_volume) || !has(fields, Field::price)) return;
    out_[i].is = out_[i].kind = MessageKind::day;
    out_[i].fields = std::move(fields);
    out_[i].why += "; taken as the state of the day instead";
  }

  /// "subscribed" comes after we asked: to wait for it before we ask would be to wait for ever. A login's yes is waited
  /// for.
  static void settle_answers(SortGuess& guess, const Table& table) {
    if (guess.kind == MessageKind::unknown) guess.kind = MessageKind::ignore;
    if (guess.kind != MessageKind::accepted) return;
    std::string said = guess.sort.word + " " + guess.sort.second;
    for (const PointerColumn& column : table.columns) said += " " + column.pointer + " " + first_text(column);
    const bool login = said.find("auth") != std::string::npos || said.find("login") != std::string::npos ||
                       said.find("logon") != std::string::npos;
    if (!login) guess.kind = MessageKind::ignore;
  }

  static std::string first_text(const PointerColumn& column) {
    for (const Leaf* leaf : column.cells) {
      if (leaf != nullptr && leaf->kind == Leaf::Kind::text) return leaf->text;
    }
    return {};
  }

  const std::vector<Record>& records_;
  const Sorts& sorts_;
  const std::vector<PlaceNames> names_;
  const OwnParts firsts_, seconds_;  ///< of the words that tell the kinds
  Known known_;
  std::vector<std::set<std::string>> learned_;  ///< of each sort, its symbols as it writes them
  std::vector<Table> tables_;
  std::vector<SortGuess> out_;
};

}  // namespace

std::vector<SortGuess> guess_kinds(const std::vector<Record>& records, const Sorts& sorts,
                                   const std::vector<PlaceNames>& names) {
  return Judge(records, sorts, names).judge();
}

std::string_view kind_word(MessageKind kind) {
  constexpr const char* kWords[] = {"trade", "quote",  "cancel", "correct",  "status", "bar",
                                    "day",   "naming", "ignore", "accepted", "refused"};
  return kind == MessageKind::unknown ? "unknown" : kWords[static_cast<std::size_t>(kind)];
}

bool is_market(MessageKind kind) { return static_cast<std::size_t>(kind) < kKindsWithFields; }

}  // namespace brimwatch
