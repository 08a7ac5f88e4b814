// A watch list in CSV. Columns are tied to rows of the key tables once; after that a row costs no look-up.
#include <algorithm>
#include <utility>

#include "config/checks/checks.h"
#include "config/reading/csv.h"
#include "config/reading/nearest.h"
#include "config/watches.h"
#include "core/price.h"

namespace brimwatch {
namespace {

struct Column {
  const Key<WatchDraft>* own = nullptr;
  const Key<Rules>* rule = nullptr;
  [[nodiscard]] std::string_view name() const { return own != nullptr ? own->name : rule->name; }
};

class CsvList {
 public:
  CsvList(std::string_view text, std::uint16_t file, const WatchDefaults& defaults, Reading& reading)
      : csv_(text),
        file_(file),
        reading_(reading),
        empty_(defaults.draft()),
        lines_(count_lines(text)),
        most_(defaults.most) {
    cell_.kind = Value::Kind::cell;
  }

  void read(WatchList& into) {
    reading_.section = {};
    reading_.name = {};
    reading_.key = {};
    if (lines_ > kLinesAWatch * most_) return tell_too_long();
    if (!csv_.next()) {
      if (csv_.error().empty())
        reading_.refuse({file_, 0, 0}, "an empty file", "a first line that names the columns: symbol,pivot");
      else tell_unreadable();
      return;
    }
    if (!read_header()) return;
    into.reserve(into.size() + std::min(lines_, most_));
    reading_.section = "watch";
    while (csv_.next() && is_room(into, most_, {file_, csv_.line(), 1}, reading_)) read_row(into);
    if (!csv_.error().empty()) tell_unreadable();
  }

 private:
  static constexpr std::size_t kLinesAWatch = 2;  ///< empty lines and comments among them

  static std::size_t count_lines(std::string_view text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
  }

  [[nodiscard]] Place place(const CsvCell& cell) const { return {file_, cell.line, cell.column}; }

  void tell_unreadable() {
    reading_.section = {};
    reading_.name = {};
    reading_.key = {};
    reading_.tell(place(csv_.error_at()), csv_.error());
  }

  /// Known before a row is read: a list that is much too long costs no time.
  void tell_too_long() {
    reading_.refuse({file_, 0, 0}, std::to_string(lines_) + " lines", "at most " + std::to_string(kLinesAWatch * most_));
  }

  bool read_header() {
    if (lacks_header())
      return reading_.tell({file_, csv_.line(), 1},
                           "found no names of columns, expected a first line such as symbol,pivot");
    bool good = true;
    for (const CsvCell& cell : csv_.cells()) good = add_column(cell) && good;
    if (!good) return false;
    if (!has("symbol"))
      good = reading_.tell({file_, csv_.line(), 0}, "found no column symbol, expected symbol and pivot or peak");
    if (!has("pivot") && !has("peak")) {
      good = reading_.tell({file_, csv_.line(), 0}, "found neither a column pivot nor peak, expected one of them");
    }
    return good;
  }

  [[nodiscard]] bool has(std::string_view name) const {
    return std::any_of(columns_.begin(), columns_.end(), [&](const Column& column) { return column.name() == name; });
  }

  bool add_column(const CsvCell& cell) {
    Column column{find_key(watch_keys(), cell.text), find_key(rules_keys(), cell.text)};
    if (column.own == nullptr && column.rule == nullptr) return refuse_column(cell);
    if (has(column.name()))
      return reading_.tell(place(cell), "found the column " + in_quotes(cell.text) + " twice, expected it once");
    columns_.push_back(column);
    return true;
  }

  bool refuse_column(const CsvCell& cell) {
    if (csv_.cells().size() == 1) {  // a file of another kind
      for (const auto& [sign, name] : {std::pair{';', "semicolons"}, std::pair{'\t', "tabs"}})
        if (cell.text.find(sign) != std::string_view::npos)
          return reading_.tell(place(cell), "found " + std::string(name) + " between the columns, expected commas");
    }
    Entry entry;
    entry.key = cell.text;
    entry.place = place(cell);
    std::vector<std::string_view> names;
    for (const KeyInfo& key : all_sections().back().keys) names.push_back(key.name);
    if (!nearest(cell.text, names).empty()) return refuse_unknown(entry, all_sections().back().keys, reading_);
    return reading_.tell(place(cell), "found the unknown column " + in_quotes(cell.text) +
                                          ", expected symbol, pivot and, if wanted, other keys of a watch");
  }

  /// The first line has stocks already: none of its cells names a column, and one is a number.
  [[nodiscard]] bool lacks_header() const {
    const auto& cells = csv_.cells();
    return std::none_of(cells.begin(), cells.end(), [](const CsvCell& cell) { return is_column(cell.text); }) &&
           std::any_of(cells.begin(), cells.end(),
                       [](const CsvCell& cell) { return parse_micros(cell.text, Extra::refuse).has_value(); });
  }

  static bool is_column(std::string_view name) {
    return find_key(watch_keys(), name) != nullptr || find_key(rules_keys(), name) != nullptr;
  }

  void read_row(WatchList& into) {
    const auto& cells = csv_.cells();
    const Place row{file_, csv_.line(), 1};
    reading_.key = {};
    reading_.name = cells.front().text.substr(0, 64);
    if (cells.size() != columns_.size()) {
      reading_.name = {};
      reading_.refuse(row, std::to_string(cells.size()) + (cells.size() == 1 ? " cell" : " cells"),
                      std::to_string(columns_.size()) + " as in the first line");
      return;
    }
    WatchDraft draft = empty_;
    seen_.clear();
    bool own_rules = false;
    name_row();
    bool good = true;
    for (std::size_t i = 0; i < cells.size(); ++i) good = read_cell(draft, columns_[i], cells[i], own_rules) && good;
    good = check_watch(draft, seen_, own_rules, row, reading_) && good;
    if (good) into.push_back(draft);
  }

  /// Errors name the symbol, whichever column it stands in.
  void name_row() {
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      if (columns_[i].name() == "symbol") reading_.name = csv_.cells()[i].text.substr(0, 64);
    }
  }

  bool read_cell(WatchDraft& draft, const Column& column, const CsvCell& cell, bool& own_rules) {
    if (cell.text.empty()) return true;
    cell_.text = cell.text;
    cell_.place = place(cell);
    reading_.key = column.name();
    seen_.add(column.name(), cell_.place);
    if (column.own != nullptr) return column.own->set(draft, cell_, column.own->shape, reading_);
    own_rules = true;
    return column.rule->set(draft.rules, cell_, column.rule->shape, reading_);
  }

  CsvReader csv_;
  std::uint16_t file_;
  Reading& reading_;
  WatchDraft empty_;
  std::size_t lines_, most_;
  std::vector<Column> columns_;
  Seen seen_;
  Value cell_;
};

}  // namespace

void add_csv_list(std::string_view text, std::uint16_t file, const WatchDefaults& defaults, Reading& reading,
                  WatchList& into) {
  CsvList(text, file, defaults, reading).read(into);
}

}  // namespace brimwatch
