#include "adapters/sources/answer.h"

#include <simdjson.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>
#include <utility>
#include <vector>

#include "config/told_reason.h"
#include "core/text/csv_line.h"

namespace brimwatch {
namespace {

using Element = simdjson::dom::element;
using Type = simdjson::dom::element_type;

constexpr int kDepthMost = 4;  // where rows are looked for

/// A column of the table that is made: our name or the source's, and where its value stands in a row.
struct TableColumn {
  std::string name, pointer;
};

std::vector<TableColumn> said_columns(const SourceFields& f) {
  std::vector<TableColumn> out;
  const std::pair<const char*, const std::string*> all[] = {
      {"date", &f.date},     {"open", &f.open},         {"high", &f.high},
      {"low", &f.low},       {"close", &f.close},       {"volume", &f.volume},
      {"symbol", &f.symbol}, {"split ratio", &f.split}, {"dividend", &f.dividend}};
  for (const auto& [name, pointer] : all)
    if (!pointer->empty()) out.push_back({name, *pointer});
  return out;
}

void append_cell(std::string& out, std::string_view text) {
  if (text.find_first_of(",\"\n\r") == std::string_view::npos) {
    out += text;
    return;
  }
  out += '"';
  for (const char c : text) out += c == '"' ? "\"\"" : std::string(1, c == '\n' || c == '\r' ? ' ' : c);
  out += '"';
}

/// A scalar as it would stand in a table; nothing for null, lists and objects.
std::string text_of(const Element& value) {
  std::array<char, 40> number{};
  switch (value.type()) {
    case Type::STRING:
      return std::string(value.get_string().value());
    case Type::INT64:
      return std::to_string(value.get_int64().value());
    case Type::UINT64:
      return std::to_string(value.get_uint64().value());
    case Type::DOUBLE: {
      const auto end = std::to_chars(number.data(), number.data() + number.size(), value.get_double().value());
      return {number.data(), end.ptr};
    }
    case Type::BOOL:
      return value.get_bool().value() ? "true" : "false";
    case Type::NULL_VALUE:
    case Type::ARRAY:
    case Type::OBJECT:
      break;
  }
  return {};
}

bool is_row(const Element& value) { return value.is_object() || value.is_array(); }

bool is_list_of_rows(const Element& value) {
  if (!value.is_array()) return false;
  const simdjson::dom::array list = value.get_array().value();
  return list.size() > 0 && is_row(list.at(0).value());
}

/// {"t":[...],"c":[...]}
bool is_columns(const Element& value) {
  if (!value.is_object()) return false;
  int lists = 0;
  const simdjson::dom::object members = value.get_object().value();
  for (const auto member : members) {
    if (member.value.is_array() && member.value.get_array().value().size() > 0 &&
        !is_row(member.value.get_array().value().at(0).value()))
      ++lists;
  }
  return lists >= 2;
}

/// {"2026-11-25":{...},"2026-11-24":{...}}
bool is_by_day(const Element& value) {
  if (!value.is_object()) return false;
  const simdjson::dom::object object = value.get_object().value();
  if (object.size() == 0) return false;
  for (const auto member : object) {
    const bool day = member.key.size() >= 8 && member.key[0] >= '0' && member.key[0] <= '9' && member.value.is_object();
    if (!day) return false;
  }
  return true;
}

bool holds_rows(const Element& value) { return is_list_of_rows(value) || is_columns(value) || is_by_day(value); }

/// Where nothing was said: the first thing within that looks like rows, near the top before deep.
std::optional<Element> find_rows(const Element& from, int depth) {
  if (holds_rows(from)) return from;
  if (depth == 0) return std::nullopt;
  if (from.is_array()) {
    const simdjson::dom::array list = from.get_array().value();
    for (const Element one : list)
      if (auto found = find_rows(one, depth - 1)) return found;
  } else if (from.is_object()) {
    const simdjson::dom::object members = from.get_object().value();
    for (const auto member : members)
      if (holds_rows(member.value)) return member.value;
    for (const auto member : members)
      if (auto found = find_rows(member.value, depth - 1)) return found;
  }
  return std::nullopt;
}

std::string pointer_to(std::string_view key) {
  std::string out = "/";
  for (const char c : key) out += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
  return out;
}

/// What was said, and by its own name every other scalar of the first row.
std::vector<TableColumn> columns_for(const Element& row, std::vector<TableColumn> columns) {
  if (!row.is_object()) return columns;
  const std::size_t said = columns.size();
  const simdjson::dom::object members = row.get_object().value();
  for (const auto member : members) {
    const std::string pointer = pointer_to(member.key);
    const auto same = [&](const TableColumn& one) { return one.pointer == pointer; };
    const auto end = columns.begin() + static_cast<std::ptrdiff_t>(said);
    if (std::any_of(columns.begin(), end, same) || is_row(member.value)) continue;
    columns.push_back({std::string(member.key), pointer});
  }
  return columns;
}

class TableWriter {
 public:
  explicit TableWriter(std::vector<TableColumn> columns) : columns_(std::move(columns)) {
    for (const TableColumn& column : columns_) put(column.name);
    end();
  }
  void put(std::string_view cell) {
    if (!std::exchange(first_, false)) out_.text += ',';
    append_cell(out_.text, cell);
  }
  void end() {
    out_.text += '\n';
    first_ = true;
  }
  void row(const Element& value, std::size_t from = 0) {
    for (std::size_t i = from; i < columns_.size(); ++i) {
      Element cell;
      const bool there = value.at_pointer(columns_[i].pointer).get(cell) == simdjson::SUCCESS;
      put(there ? text_of(cell) : "");
    }
    end();
    ++out_.rows;
  }
  [[nodiscard]] const std::vector<TableColumn>& columns() const { return columns_; }
  SourceAnswer out_;

 private:
  std::vector<TableColumn> columns_;
  bool first_ = true;
};

SourceAnswer of_list(const Element& rows, const HistorySource& source) {
  const simdjson::dom::array list = rows.get_array().value();
  if (list.size() == 0) return {};
  TableWriter table(columns_for(list.at(0).value(), said_columns(source.fields)));
  for (const Element row : list) table.row(row);
  return std::move(table.out_);
}

SourceAnswer by_day(const Element& rows, const HistorySource& source) {
  const simdjson::dom::object days = rows.get_object().value();
  std::vector<TableColumn> columns{{"date", ""}};
  for (const auto member : days) {
    for (TableColumn& column : columns_for(member.value, said_columns(source.fields)))
      columns.push_back(std::move(column));
    break;
  }
  TableWriter table(std::move(columns));
  for (const auto member : days) {
    table.put(member.key);
    table.row(member.value, 1);
  }
  return std::move(table.out_);
}

SourceAnswer of_columns(const Element& rows, const HistorySource& source) {
  std::vector<TableColumn> columns = said_columns(source.fields);
  const std::size_t said = columns.size();
  const simdjson::dom::object members = rows.get_object().value();
  for (const auto member : members) {
    const std::string pointer = pointer_to(member.key);
    const bool known = std::any_of(columns.begin(), columns.begin() + static_cast<std::ptrdiff_t>(said),
                                   [&](const TableColumn& one) { return one.pointer == pointer; });
    if (!known && member.value.is_array()) columns.push_back({std::string(member.key), pointer});
  }
  std::vector<std::vector<std::string>> cells(columns.size());
  std::size_t count = 0;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    simdjson::dom::array list;  // not to be touched where there is none
    if (rows.at_pointer(columns[i].pointer).get_array().get(list) != simdjson::SUCCESS) continue;
    for (const Element value : list) cells[i].push_back(text_of(value));
    count = std::max(count, cells[i].size());
  }
  TableWriter table(columns);
  for (std::size_t row = 0; row < count; ++row) {
    for (const auto& column : cells) table.put(row < column.size() ? column[row] : std::string());
    table.end();
    ++table.out_.rows;
  }
  return std::move(table.out_);
}

/// What came, in the place of what was wanted.
tl::unexpected<Error> refuse(const std::string& what, const std::string& words) {
  return fail("the source answered " + what + (words.empty() ? "" : ": \"" + words + "\"") + "; nothing was changed");
}

/// Whether a table has a day in it: without one it may be anything, an error's code and its words too.
bool names_a_day(std::string_view header) {
  constexpr std::size_t kNameMost = 16;  // a name, and no sentence about dates
  CsvLine names;
  if (!names.split(header, delimiter_of(header))) return false;
  for (std::size_t i = 0; i < names.size(); ++i) {
    std::string letters;
    for (const char c : names[i])
      if (const char small = static_cast<char>(c | 0x20); small >= 'a' && small <= 'z') letters += small;
    const bool has_word = letters.find("date") != letters.npos || letters.find("day") != letters.npos ||
                          letters.find("time") != letters.npos;
    if (letters == "t" || letters == "dt" || (has_word && letters.size() <= kNameMost)) return true;
  }
  return false;
}

/// A list, or nothing in the place of one: then there may be no rows.
bool has_place_for_rows(const Element& value, int depth) {
  if (value.is_array() || value.is_null()) return true;
  if (depth == 0 || !value.is_object()) return false;
  const simdjson::dom::object members = value.get_object().value();
  for (const auto member : members)
    if (has_place_for_rows(member.value, depth - 1)) return true;
  return members.size() == 0;
}

Result<SourceAnswer> read_json(std::string_view body, const HistorySource& source) {
  simdjson::dom::parser parser;
  Element document;
  if (const auto error = parser.parse(body.data(), body.size()).get(document); error != simdjson::SUCCESS)
    return refuse("no JSON", told_reason(body));
  std::optional<Element> rows;
  Element at;
  const bool said = !source.fields.rows.empty();
  const bool there = said && document.at_pointer(source.fields.rows).get(at) == simdjson::SUCCESS;
  if (said && !there) return refuse("with nothing at " + source.fields.rows, told_reason(body));
  if (!said) rows = find_rows(document, kDepthMost);
  else if (!at.is_null()) rows = at;
  SourceAnswer out;
  if (rows && rows->is_array()) out = of_list(*rows, source);
  else if (rows && is_by_day(*rows)) out = by_day(*rows, source);
  else if (rows && rows->is_object()) out = of_columns(*rows, source);
  if (!names_a_day(std::string_view(out.text).substr(0, out.text.find('\n')))) {
    const std::string error = told_error(body, !has_place_for_rows(document, kDepthMost));
    if (!error.empty()) return refuse("without data", error);
  }
  std::string_view next;
  if (!source.fields.next.empty() && document.at_pointer(source.fields.next).get_string().get(next) == simdjson::SUCCESS)
    out.next = next;
  return out;
}

/// The header with our names where the configuration has said the source's.
std::string renamed_header(std::string_view line, const SourceFields& fields) {
  CsvLine names;
  const char delimiter = delimiter_of(line);
  if (!names.split(line, delimiter)) return std::string(line);
  const std::vector<TableColumn> all_said = said_columns(fields);
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) out += delimiter;
    std::string_view name = names[i];
    for (const TableColumn& said : all_said)
      if (said.pointer == name) name = said.name;
    append_cell(out, name);
  }
  return out;
}

Result<SourceAnswer> read_csv(std::string_view body, const HistorySource& source) {
  if (body.starts_with("\xEF\xBB\xBF")) body.remove_prefix(3);
  const std::size_t first = body.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return SourceAnswer{};
  body.remove_prefix(first);
  if (body.front() == '{' || body.front() == '[') return refuse("JSON, and format is \"csv\"", told_reason(body));
  if (body.front() == '<') return refuse("a page, and no CSV", told_reason(body));
  const std::size_t end = std::min(body.find('\n'), body.size());
  const bool one_line = body.find_first_not_of(" \t\r\n", end) == std::string_view::npos;
  const bool one_column = body.substr(0, end).find(delimiter_of(body.substr(0, end))) == std::string_view::npos;
  if ((one_line || one_column) && !names_a_day(renamed_header(body.substr(0, end), source.fields)))
    return refuse("no table", told_reason(body));
  SourceAnswer out;
  out.text = renamed_header(body.substr(0, end), source.fields) + "\n";
  body.remove_prefix(std::min(end + 1, body.size()));
  const auto lines = std::count(body.begin(), body.end(), '\n') + (body.empty() || body.ends_with('\n') ? 0 : 1);
  out.rows = static_cast<std::size_t>(lines);
  if (out.rows == 0) return SourceAnswer{};
  out.text += body;
  return out;
}

}  // namespace

Result<SourceAnswer> read_answer(std::string_view body, const HistorySource& source) {
  return source.format == "json" ? read_json(body, source) : read_csv(body, source);
}

}  // namespace brimwatch
