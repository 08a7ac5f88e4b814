#include "config/reading/document.h"

#include <toml++/toml.h>

#include <algorithm>
#include <optional>
#include <vector>

#include "config/reading/mistake.h"
#include "config/reading/text.h"
#include "core/text/text.h"
#include "core/text/toml_guard.h"

namespace brimwatch {
namespace {

/// Finds the text of a value again from the line and column that the parser gives (columns count characters, not bytes).
class Source {
 public:
  explicit Source(std::string_view text) : text_(text) {
    if (text_.substr(0, 3) == "\xEF\xBB\xBF") text_.remove_prefix(3);
    lines_.push_back(0);
    for (std::size_t i = 0; i < text_.size(); ++i) {
      if (text_[i] == '\n') lines_.push_back(i + 1);
    }
  }

  /// The bare word (number, date, boolean) that begins there.
  [[nodiscard]] std::string_view word_at(const Place& place) const {
    const std::size_t at = offset_of(place);
    std::size_t end = at;
    while (end < text_.size() && !ends_word(text_[end])) ++end;
    return text_.substr(at, end - at);
  }

  /// The line of that place, without its end.
  [[nodiscard]] std::string_view line_of(const Place& place) const {
    const std::string_view from = text_.substr(offset_of({place.file, place.line, 1}));
    return from.substr(0, from.find_first_of("\r\n"));
  }
  /// Bytes on the line in front of that place.
  [[nodiscard]] std::size_t bytes_before(const Place& place) const {
    return offset_of(place) - offset_of({place.file, place.line, 1});
  }

 private:
  [[nodiscard]] std::size_t offset_of(const Place& place) const {
    if (place.line == 0 || place.line > lines_.size()) return text_.size();
    std::size_t at = lines_[place.line - 1];
    for (std::uint32_t column = 1; column < place.column && at < text_.size(); ++column) at = next_character(at);
    return at;
  }
  static bool ends_word(char c) {
    return c == ',' || c == ']' || c == '}' || c == '#' || c == ' ' || c == '\t' || c == '\r' || c == '\n';
  }
  [[nodiscard]] std::size_t next_character(std::size_t at) const {
    ++at;
    while (at < text_.size() && (static_cast<unsigned char>(text_[at]) & 0xC0U) == 0x80U) ++at;
    return at;
  }

  std::string_view text_;
  std::vector<std::size_t> lines_;
};

class Converter {
 public:
  Converter(const Source& source, std::uint16_t file) : source_(source), file_(file) {}

  [[nodiscard]] Place place(const toml::source_region& region) const {
    return {file_, region.begin.line, region.begin.column};
  }

  void convert(const toml::node& node, Value& into) const {  // NOLINT(misc-no-recursion): the parser bounds the nesting
    into.place = place(node.source());
    into.kind = kind_of(node.type());
    if (const auto* table = node.as_table()) return convert_table(*table, into);
    if (const auto* array = node.as_array()) return convert_array(*array, into);
    if (const auto* text = node.as_string()) {
      into.text = text->get();
      return;
    }
    into.text = source_.word_at(into.place);
    if (const auto* integer = node.as_integer()) into.integer = integer->get();
    if (const auto* boolean = node.as_boolean()) into.boolean = boolean->get();
  }

 private:
  static Value::Kind kind_of(toml::node_type type) {
    switch (type) {
      case toml::node_type::none:
      case toml::node_type::string:
        return Value::Kind::text;
      case toml::node_type::table:
        return Value::Kind::table;
      case toml::node_type::array:
        return Value::Kind::list;
      case toml::node_type::integer:
        return Value::Kind::integer;
      case toml::node_type::floating_point:
        return Value::Kind::decimal;
      case toml::node_type::boolean:
        return Value::Kind::boolean;
      case toml::node_type::date:
        return Value::Kind::date;
      case toml::node_type::time:
        return Value::Kind::clock;
      case toml::node_type::date_time:
        return Value::Kind::moment;
    }
    return Value::Kind::text;
  }

  void convert_table(const toml::table& table, Value& into) const {  // NOLINT(misc-no-recursion)
    into.entries.reserve(table.size());
    for (const auto& [key, node] : table) {
      Entry& entry = into.entries.emplace_back();
      entry.key = key.str();
      entry.place = place(key.source());
      convert(node, entry.value);
    }
    std::sort(into.entries.begin(), into.entries.end(), [](const Entry& a, const Entry& b) { return a.place < b.place; });
  }

  void convert_array(const toml::array& array, Value& into) const {  // NOLINT(misc-no-recursion)
    into.items.resize(array.size());
    std::size_t i = 0;
    for (const toml::node& node : array) convert(node, into.items[i++]);
  }

  const Source& source_;
  std::uint16_t file_;
};

/// The parser's words, which repeat the text's own, line ends and all.
std::string plain(std::string_view said) {
  constexpr std::string_view kLead = "Error while ";
  return clean_line(said.substr(0, kLead.size()) == kLead ? said.substr(kLead.size()) : said, 300);
}

/// What was probably meant, at its own place; else the words as they are.
SyntaxError explain(const Source& source, Place place, const std::optional<Mistake>& mistake, std::string_view said) {
  if (!mistake) return {place, "found no valid TOML: " + plain(said)};
  const auto line = source.line_of(place);
  place.column = static_cast<std::uint32_t>(characters(line.substr(0, mistake->at)) + 1);
  return {place, mistake->text};
}

}  // namespace

Document parse_document(std::string_view text, std::uint16_t file) {
  Document document;
  document.root.kind = Value::Kind::table;
  if (text.find('\r') != text.npos && text.find('\n') == text.npos) {
    document.error = {{file, 1, 1}, "found lines that end in CR alone, expected LF, or CR and LF"};
    return document;
  }
  const Source source(text);
  if (const auto trouble = toml_trouble(text)) {
    const Place place{file, trouble->line, trouble->column};
    const auto mistake = explain_letter(source.line_of(place), source.bytes_before(place));
    document.error = explain(source, place, mistake, trouble->text);
    return document;
  }
  const Converter converter(source, file);
  try {
    const toml::table table = toml::parse(text);
    converter.convert(table, document.root);
  } catch (const toml::parse_error& error) {
    const Place place = converter.place(error.source());
    const auto mistake = explain_mistake(source.line_of(place), source.bytes_before(place), error.description());
    document.error = explain(source, place, mistake, error.description());
  }
  return document;
}

}  // namespace brimwatch
