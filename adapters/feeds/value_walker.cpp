#include "adapters/feeds/value_walker.h"

#include "adapters/feeds/decoder.h"

namespace brimwatch {
namespace {

namespace json = simdjson::ondemand;

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

}  // namespace

std::string_view trimmed(std::string_view token) {
  const std::size_t end = token.find_last_not_of(" \t\r\n");
  return end == token.npos ? std::string_view() : token.substr(0, end + 1);
}

bool ValueWalker::walk(json::value value, const PointerTree& tree, const PointerNode& node) {
  json::json_type type{};
  if (const auto error = value.type().get(type)) return broken(error);
  if (!node.children.empty() && type == json::json_type::object) {
    json::object object;
    if (const auto error = value.get_object().get(object)) return broken(error);
    return walk_object(object, tree, node);
  }
  if (!node.children.empty() && type == json::json_type::array) {
    json::array array;
    if (const auto error = value.get_array().get(array)) return broken(error);
    return walk_array(array, tree, node);
  }
  return node.slots.empty() || capture(value, node);
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

bool ValueWalker::walk_array(json::array array, const PointerTree& tree, const PointerNode& node) {
  std::size_t index = 0;
  for (auto result : array) {
    json::value element;
    if (const auto error = std::move(result).get(element)) return broken(error);
    if (!walk_element(element, index++, tree, node)) return false;
  }
  return true;
}

bool ValueWalker::capture(json::value value, const PointerNode& node) {
  json::json_type type{};
  if (const auto error = value.type().get(type)) return broken(error);
  FieldValue found;
  if (type == json::json_type::array) {
    json::array array;
    if (const auto error = value.get_array().get(array)) return broken(error);
    if (!capture_list(array, found)) return false;
  } else if (type != json::json_type::object && !capture_scalar(value, type, found)) {
    return false;
  }
  for (const Slot slot : node.slots) {
    FieldValue& into = values_[static_cast<std::size_t>(slot)];
    if (into.kind != FieldValue::Kind::absent) return broken("the name \"" + node.token + "\" twice in one message");
    into = found;
  }
  return true;
}

bool ValueWalker::capture_scalar(json::value value, json::json_type type, FieldValue& into) {
  if (type == json::json_type::string) {
    if (const auto error = value.get_string().get(into.text)) return broken(error);
    into.kind = FieldValue::Kind::text;
  } else if (type == json::json_type::number) {
    into.text = trimmed(value.raw_json_token());
    if (!is_json_number(into.text)) return broken("\"" + excerpt(into.text, 40) + "\" is not a JSON number");
    into.kind = FieldValue::Kind::number;
  } else if (type == json::json_type::boolean) {
    bool truth = false;
    if (const auto error = value.get_bool().get(truth)) return broken(error);
    into.text = truth ? "true" : "false";
    into.kind = FieldValue::Kind::word;
  } else if (trimmed(value.raw_json_token()) != "null") {
    return broken("a word that is not null");
  }
  return true;
}

bool ValueWalker::capture_list(json::array array, FieldValue& into) {
  into.kind = FieldValue::Kind::list;
  into.first = static_cast<std::uint32_t>(entries_.size());
  for (auto result : array) {
    json::value element;
    json::json_type type{};
    if (const auto error = std::move(result).get(element)) return broken(error);
    if (const auto error = element.type().get(type)) return broken(error);
    if (type == json::json_type::object || type == json::json_type::array) continue;
    FieldValue entry;
    if (!capture_scalar(element, type, entry)) return false;
    if (entry.kind != FieldValue::Kind::absent) entries_.push_back(entry.text);
  }
  into.count = static_cast<std::uint32_t>(entries_.size()) - into.first;
  return true;
}

}  // namespace brimwatch
