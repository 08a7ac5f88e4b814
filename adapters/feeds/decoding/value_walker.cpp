#include "adapters/feeds/decoding/value_walker.h"

namespace brimwatch {
namespace {

namespace json = simdjson::ondemand;
using Kind = FieldValue::Kind;

const PointerTree kNoPointers;

/// The parser hands numbers out unread; this is the grammar of RFC 8259, section 6.
bool is_json_number(std::string_view text) {
  std::size_t at = 0;
  const auto digits = [&] {
    const std::size_t first = at;
    while (at < text.size() && text[at] >= '0' && text[at] <= '9') ++at;
    return at - first;
  };
  if (at < text.size() && text[at] == '-') ++at;
  const bool zero = at < text.size() && text[at] == '0';
  const std::size_t whole = digits();
  if (whole == 0 || (zero && whole > 1)) return false;
  if (at < text.size() && text[at] == '.' && (++at, digits() == 0)) return false;
  if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
    ++at;
    if (at < text.size() && (text[at] == '+' || text[at] == '-')) ++at;
    if (digits() == 0) return false;
  }
  return at == text.size();
}

FieldValue text_value(json::value value) {
  FieldValue out;
  if (value.get_string().get(out.text)) return {Kind::bad};
  out.kind = Kind::text;
  return out;
}

FieldValue number_value(json::value value) {
  const std::string_view text = trimmed(value.raw_json_token());
  if (!is_json_number(text)) return {Kind::bad};
  return {Kind::number, text};
}

FieldValue truth_value(json::value value) {
  bool truth = false;
  if (value.get_bool().get(truth)) return {Kind::bad};
  return {Kind::word, truth ? "true" : "false"};
}

/// Of anything but objects and arrays.
FieldValue scalar_value(json::value value) {
  json::json_type type{};
  if (value.type().get(type)) return {Kind::bad};
  switch (type) {
    case json::json_type::string:
      return text_value(value);
    case json::json_type::number:
      return number_value(value);
    case json::json_type::boolean:
      return truth_value(value);
    default:
      return {trimmed(value.raw_json_token()) == "null" ? Kind::nothing : Kind::bad};
  }
}

}  // namespace

std::string_view trimmed(std::string_view token) {
  const std::size_t end = token.find_last_not_of(" \t\r\n");
  return end == token.npos ? std::string_view() : token.substr(0, end + 1);
}

JsonShape shape_of(json::value& value) {
  json::json_type type{};
  if (value.type().get(type)) return JsonShape::none;
  if (type == json::json_type::object) return JsonShape::object;
  return type == json::json_type::array ? JsonShape::array : JsonShape::scalar;
}

bool is_missing(json::value& value) {
  const char* at = nullptr;  // one byte of it and no more: behind the last token there is none with a length
  if (value.current_location().get(at)) return true;
  return std::string_view("}],:").find(*at) != std::string_view::npos;
}

bool ValueWalker::walk(json::value value, const PointerTree& tree, const PointerNode& node) {
  switch (shape_of(value)) {
    case JsonShape::object: {
      store(node, {Kind::nothing});
      if (node.children.empty()) return true;
      json::object object;
      if (const auto error = value.get_object().get(object)) return broken(error);
      return walk_object(object, tree, node);
    }
    case JsonShape::array:
      return walk_list(value, tree, node);
    case JsonShape::none:
      if (is_missing(value)) return broken("a value is missing");
      break;
    case JsonShape::scalar:
      break;
  }
  if (!node.slots.empty()) store(node, scalar_value(value));
  return true;
}

bool ValueWalker::walk_object(json::object object, const PointerTree& tree, const PointerNode& node) {
  for (auto result : object) {
    json::field field;
    std::string_view name;
    if (const auto error = std::move(result).get(field)) return broken(error);
    if (const auto error = field.unescaped_key().get(name)) return broken(error);
    const PointerNode* child = tree.child(node, name);
    if (child != nullptr && !walk(field.value(), tree, *child)) return false;
  }
  return true;
}

bool ValueWalker::walk_element(json::value value, std::size_t index, const PointerTree& tree, const PointerNode& node) {
  const PointerNode* child = tree.child_at(node, index);
  return child == nullptr || walk(value, tree, *child);
}

bool ValueWalker::walk_list(json::value value, const PointerTree& tree, const PointerNode& node) {
  if (node.slots.empty() && node.children.empty()) return true;
  json::array array;
  if (const auto error = value.get_array().get(array)) return broken(error);
  if (node.slots.empty()) return walk_array(array, tree, node);
  FieldValue found{Kind::list};
  if (!(columns_ ? capture_column(array, found) : capture_list(array, tree, node, found))) return false;
  store(node, found);
  return true;
}

bool ValueWalker::walk_array(json::array array, const PointerTree& tree, const PointerNode& node) {
  std::size_t index = 0;
  for (auto result : array) {
    json::value element;
    if (const auto error = std::move(result).get(element)) return broken(error);
    if (!walk_element(element, index++, tree, node)) return false;
  }
  return true;
}

void ValueWalker::store(const PointerNode& node, const FieldValue& found) {
  for (const Slot slot : node.slots) {
    FieldValue& into = values_[static_cast<std::size_t>(slot)];
    into = into.kind == Kind::absent ? found : FieldValue{Kind::bad};
  }
}

/// A list may be asked for whole, as conditions are, and by its places, as another kind of message does: each entry is
/// read once, for the parser has room for no more.
bool ValueWalker::capture_list(json::array array, const PointerTree& tree, const PointerNode& node, FieldValue& into) {
  into.first = static_cast<std::uint32_t>(entries_.size());
  std::size_t index = 0;
  for (auto result : array) {
    json::value element;
    if (const auto error = std::move(result).get(element)) return broken(error);
    const PointerNode* child = tree.child_at(node, index++);
    const JsonShape shape = shape_of(element);
    if (shape == JsonShape::none && is_missing(element)) return broken("a value is missing");
    if (shape == JsonShape::object || shape == JsonShape::array) {
      if (child != nullptr && !walk(element, tree, *child)) return false;
      continue;
    }
    const FieldValue entry = scalar_value(element);
    if (child != nullptr) store(*child, entry);
    if (entry.kind == Kind::bad) into.kind = Kind::bad;
    if (entry.is_given()) entries_.push_back(entry.text);
  }
  into.count = static_cast<std::uint32_t>(entries_.size()) - into.first;
  return true;
}

bool ValueWalker::capture_column(json::array array, FieldValue& into) {
  into.first = static_cast<std::uint32_t>(cells_.size());
  for (auto result : array) {
    json::value element;
    if (const auto error = std::move(result).get(element)) return broken(error);
    FieldValue cell{Kind::list};
    const JsonShape shape = shape_of(element);
    if (shape == JsonShape::none && is_missing(element)) return broken("a value is missing");
    if (shape == JsonShape::array) {
      json::array inner;
      if (const auto error = element.get_array().get(inner)) return broken(error);
      if (!capture_list(inner, kNoPointers, kNoPointers.root(), cell)) return false;
    } else {
      cell = shape == JsonShape::object ? FieldValue{Kind::nothing} : scalar_value(element);
    }
    cells_.push_back(cell);
  }
  into.count = static_cast<std::uint32_t>(cells_.size()) - into.first;
  return true;
}

}  // namespace brimwatch
