#include "adapters/guessing/behaviour.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace brimwatch {
namespace {

using Series = std::vector<std::vector<double>>;

std::optional<double> number_of(const Leaf* leaf) {
  if (leaf == nullptr || leaf->kind == Leaf::Kind::truth) return std::nullopt;
  return number_in(leaf->text);
}

Series series_of(const Table& table, const PointerColumn& column) {
  Series out(table.group_count);
  for (std::size_t i = 0; i < column.cells.size(); ++i) {
    if (const auto number = number_of(column.cells[i])) out[table.groups[i]].push_back(*number);
  }
  return out;
}

struct Moves {
  std::size_t steps = 0, rising = 0, climbing = 0, by_one = 0, groups = 0;
  double spread = 0;
};

double spread_of(const std::vector<double>& values) {
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  double sum = 0;
  for (const double value : values) sum += std::abs(value);
  const double mean = sum / static_cast<double>(values.size());
  return mean > 0 ? (*most - *least) / mean : 0;
}

Moves moves_of(const Series& series) {
  Moves out;
  for (const auto& values : series) {
    if (values.size() < 2) continue;
    ++out.groups;
    out.spread += spread_of(values);
    for (std::size_t i = 1; i < values.size(); ++i) {
      ++out.steps;
      out.rising += values[i] >= values[i - 1];
      out.climbing += values[i] > values[i - 1];
      out.by_one += values[i] == values[i - 1] + 1;
    }
  }
  if (out.groups > 0) out.spread /= static_cast<double>(out.groups);
  return out;
}

double part_of(std::size_t part, std::size_t whole) {
  return whole == 0 ? 0 : static_cast<double>(part) / static_cast<double>(whole);
}

double round_sizes(const PointerColumn& column) {
  std::size_t round = 0;
  for (const Leaf* leaf : column.cells) {
    const auto number = number_of(leaf);
    round += number && *number > 0 && (std::fmod(*number, 100) == 0 || *number < 100);
  }
  return part_of(round, column.given);
}

/// Prices without their point: whole numbers that go up and down a little for each symbol, and lie elsewhere for another.
bool moves_as_price(const PointerColumn& column, const Series& series, const Moves& moves) {
  constexpr std::size_t kStepsLeast = 6;
  if (column.fractions > 0 || column.points > 0.5 || column.least < 100 || moves.steps < kStepsLeast) return false;
  const bool both_ways = moves.climbing > 0 && moves.rising < moves.steps;
  if (!both_ways || moves.spread >= 0.1) return false;
  const bool several = std::count_if(series.begin(), series.end(), [](const auto& one) { return !one.empty(); }) > 1;
  return !several || (column.most - column.least) / column.most > 3 * moves.spread;
}

double like_price(const PointerColumn& column, const Series& series, const Moves& moves) {
  if (moves_as_price(column, series, moves)) return 0.8;
  double out = 0;
  if (column.fractions > 0.2) out += 0.5;
  else if (column.points > 0.5) out += 0.45;
  else if (column.least >= 100) out += 0.1;  // without its point
  if (moves.steps > 0) {
    if (moves.spread < 0.1) out += moves.climbing > 0 ? 0.4 : 0.25;
    if (moves.spread > 0.5) out -= 0.5;
    if (column.fractions == 0 && moves.steps >= 4 && moves.rising == moves.steps && moves.climbing > 0) out -= 0.4;
  } else if (column.fractions > 0) {
    out += 0.2;
  }
  return std::clamp(out, 0.0, 1.0);
}

double like_size(const PointerColumn& column, const Moves& moves) {
  double out = column.whole > 0.9 ? 0.4 : column.fractions < 0.5 ? 0.15 : 0;
  if (out == 0) return 0;
  out += 0.3 * round_sizes(column);
  if (moves.steps > 1) {
    if (moves.spread > 0.5) out += 0.3;
    if (moves.rising == moves.steps && moves.climbing * 2 > moves.steps && moves.steps >= 4) out -= 0.5;
  }
  return std::clamp(out, 0.0, 1.0);
}

/// What climbs across all symbols is a number of messages, not of shares.
double like_cumulative(const PointerColumn& column, const Moves& moves) {
  if (column.whole < 0.9 && column.fractions > 0.5) return 0;
  if (moves.steps == 0) return column.least >= 1000 ? 0.4 : 0.1;
  if (moves.rising < moves.steps || column.by_one > 0.9) return 0;
  if (moves.steps >= 4 && part_of(moves.by_one, moves.steps) > 0.9) return 0;  // counts a symbol's messages
  if (moves.groups > 1 && column.climbing > 0.95) return 0.1;
  return moves.climbing == 0 ? 0.2 : moves.steps >= 4 ? 0.8 : 0.6;
}

double like_id(const PointerColumn& column) {
  if (column.given < 2) return 0.4;
  if ((column.fractions > 0 && column.numeric > 0.5) || column.distinct * 20 < column.given * 19)
    return column.distinct * 2 > column.given ? 0.3 : 0;
  if (column.numeric < 0.95) return 0.8;
  return column.climbing > 0.9 ? 0.8 : 0.5;
}

double like_sequence(const PointerColumn& column, const Moves& moves) {
  if (column.numeric < 0.95 || column.whole < 1 || column.given < 3) return 0;
  if (column.by_one > 0.85) return 0.9;
  if (moves.steps >= 3 && part_of(moves.by_one, moves.steps) > 0.9) return 0.7;
  return column.climbing > 0.9 && column.most - column.least < 20.0 * static_cast<double>(column.given) ? 0.5 : 0;
}

double like_code(const PointerColumn& column) {
  if (column.lists > 0.5) return 0.9;
  if (column.fractions > 0 || column.given == 0) return 0;
  const double few = column.distinct <= 12 && column.distinct * 2 <= column.given + 2 ? 0.7 : 0.2;
  return column.texts > 0.5 ? few : few - 0.2;
}

void add_column(Table& table, std::map<std::string, std::size_t>& places, const std::string& pointer, std::size_t row,
                const Leaf& leaf) {
  const auto [place, fresh] = places.try_emplace(pointer, table.columns.size());
  if (fresh) {
    PointerColumn column;
    column.pointer = column.name = pointer;
    column.cells.resize(table.records.size());
    table.columns.push_back(std::move(column));
  }
  table.columns[place->second].cells[row] = &leaf;
}

/// A list of codes is one value; a list whose places have meanings is not, and its entries are.
bool is_list_of_codes(const PointerColumn& list) {
  std::size_t length = 0;
  bool varies = false, decimal = false, nested = false;
  bool first = true;
  for (const Leaf* leaf : list.cells) {
    if (leaf == nullptr || leaf->kind != Leaf::Kind::list) continue;
    varies = varies || (!first && leaf->items.size() != length);
    length = std::max(length, leaf->items.size());
    first = false;
    for (const std::string& item : leaf->items) {
      const auto number = number_in(item);
      decimal = decimal || (number && (*number != std::floor(*number) || *number > 9e8 || item.find('.') != item.npos));
      nested = nested || item.size() > 24;
    }
  }
  return !decimal && !nested && (varies || length <= 4);
}

void drop_entries_of_codes(Table& table) {
  std::vector<std::string> lists, fields;
  for (const PointerColumn& column : table.columns) {
    if (column.lists < 0.5) continue;
    (is_list_of_codes(column) ? lists : fields).push_back(column.pointer);
  }
  std::erase_if(table.columns, [&](const PointerColumn& column) {
    if (std::find(fields.begin(), fields.end(), column.pointer) != fields.end()) return true;
    return std::any_of(lists.begin(), lists.end(), [&](const std::string& list) {
      return column.pointer.size() > list.size() && column.pointer.compare(0, list.size() + 1, list + "/") == 0;
    });
  });
}

}  // namespace

const PointerColumn* Table::find(std::string_view pointer) const {
  const auto found =
      std::find_if(columns.begin(), columns.end(), [&](const PointerColumn& c) { return c.pointer == pointer; });
  return found == columns.end() ? nullptr : &*found;
}

Table table_of(const std::vector<const Record*>& records) {
  Table table;
  table.records = records;
  table.groups.assign(records.size(), 0);
  std::map<std::string, std::size_t> places;
  for (std::size_t row = 0; row < records.size(); ++row) {
    for (const auto& [pointer, leaf] : records[row]->leaves) add_column(table, places, pointer, row, leaf);
  }
  for (PointerColumn& column : table.columns) measure(column);
  drop_entries_of_codes(table);
  return table;
}

void group_by(Table& table, std::string_view symbol_pointer) {
  const PointerColumn* column = table.find(symbol_pointer);
  std::map<std::string, std::size_t> numbers;
  for (std::size_t i = 0; i < table.records.size(); ++i) {
    const Leaf* leaf = column != nullptr ? column->cells[i] : nullptr;
    table.groups[i] = numbers.try_emplace(leaf != nullptr ? leaf->text : std::string(), numbers.size()).first->second;
  }
  table.group_count = std::max<std::size_t>(numbers.size(), 1);
}

Behaviour behaviour_of(const Table& table, const PointerColumn& column) {
  Behaviour out;
  out.code = like_code(column);
  out.id = like_id(column);
  if (column.numeric < 0.9 || column.truths > 0) return out;
  const Series series = series_of(table, column);
  const Moves moves = moves_of(series);
  out.steps_seen = moves.steps > 0;
  out.still = moves.steps >= 3 && moves.spread == 0;
  out.spread = moves.spread;
  out.rising = part_of(moves.rising, moves.steps);
  out.sequence = like_sequence(column, moves);
  if (column.least < 0) return out;
  out.cumulative = like_cumulative(column, moves);
  out.size = like_size(column, moves);
  if (column.least > 0) out.price = like_price(column, series, moves);
  return out;
}

Steps steps_of(const Table& table, const PointerColumn& column) {
  const Moves moves = moves_of(series_of(table, column));
  return {moves.steps, moves.climbing, moves.steps - moves.rising};
}

double rises_by(const Table& table, const PointerColumn& total, const PointerColumn& size, double factor) {
  std::map<std::size_t, double> before;
  std::size_t judged = 0, good = 0;
  for (std::size_t i = 0; i < table.records.size(); ++i) {
    const auto now = number_of(total.cells[i]), more = number_of(size.cells[i]);
    if (!now) continue;
    const auto last = before.find(table.groups[i]);
    if (last != before.end() && more) {
      ++judged;
      good += std::abs(*now - last->second - *more * factor) < 1e-6 * std::max(1.0, *more * factor);
    }
    before[table.groups[i]] = *now;
  }
  return judged == 0 ? -1 : part_of(good, judged);
}

bool rises_in_all_by(const Table& table, const PointerColumn& total, const PointerColumn& size, double factor) {
  constexpr double kUnitsLeast = 40, kUnitsOfOne = 200;  // so that rounding to whole units leaves the factor no doubt
  struct Sum {
    double first = 0, last = 0, sizes = 0;
    bool begun = false;
  };
  std::map<std::size_t, Sum> sums;
  for (std::size_t i = 0; i < table.records.size(); ++i) {
    const auto now = number_of(total.cells[i]), more = number_of(size.cells[i]);
    if (!now || !more) continue;
    Sum& sum = sums[table.groups[i]];
    if (sum.begun) sum.sizes += *more;
    else sum.first = *now;
    sum.begun = true;
    sum.last = *now;
  }
  std::size_t judged = 0, good = 0;
  double most = 0;
  for (const auto& [group, sum] : sums) {
    const double rise = sum.last - sum.first;
    if (rise < kUnitsLeast) continue;
    ++judged;
    most = std::max(most, rise);
    good += std::abs(rise - sum.sizes * factor) <= 1 + 1e-9 * rise;
  }
  return good == judged && (judged > 1 || most >= kUnitsOfOne);
}

double stays_under(const PointerColumn& a, const PointerColumn& b) {
  std::size_t judged = 0, good = 0;
  for (std::size_t i = 0; i < a.cells.size(); ++i) {
    const auto low = number_of(a.cells[i]), high = number_of(b.cells[i]);
    if (!low || !high) continue;
    ++judged;
    good += *low <= *high;
  }
  return part_of(good, judged);
}

double parts_prices(const Table& table, const PointerColumn& by) {
  std::map<std::string, std::size_t> numbers;
  std::vector<std::size_t> groups(table.records.size());
  for (std::size_t i = 0; i < groups.size(); ++i)
    groups[i] = numbers.try_emplace(by.cells[i] != nullptr ? by.cells[i]->text : "", numbers.size()).first->second;
  if (numbers.size() < 2) return 0;
  double best = 0;
  for (const PointerColumn& column : table.columns) {
    if (column.numeric < 0.9 || column.least <= 0 || column.time || &column == &by) continue;
    if (column.fractions < 0.1 && column.points < 0.5 && column.least < 100) continue;
    Series parted(numbers.size());
    std::vector<double> all, means;
    for (std::size_t i = 0; i < groups.size(); ++i) {
      if (const auto number = number_of(column.cells[i])) parted[groups[i]].push_back(*number), all.push_back(*number);
    }
    const Moves inside = moves_of(parted);
    const double whole = all.size() > 1 ? spread_of(all) : 0;
    if (inside.steps < 2 || whole < 0.15) continue;
    best = std::max(best, std::clamp(1 - 4 * inside.spread / whole, 0.0, 1.0));
  }
  return best;
}

}  // namespace brimwatch
