#include "config/sections/schema.h"

#include "config/sections/sections.h"
#include "core/text/json.h"

namespace brimwatch {
namespace {

OrderedJson text(std::int64_t most) { return {{"type", "string"}, {"maxLength", most}}; }
OrderedJson pattern(const char* expression) { return {{"type", "string"}, {"pattern", expression}}; }

OrderedJson one_or_many(const OrderedJson& one) {
  return {{"anyOf", OrderedJson::array({one, OrderedJson{{"type", "array"}, {"items", one}, {"maxItems", 1000}}})}};
}

OrderedJson words(std::span<const std::string_view> all) {
  OrderedJson list = OrderedJson::array();
  for (const std::string_view word : all) list.push_back(std::string(word));
  return {{"enum", list}};
}

/// A decimal that is whole goes out as an integer, so that 5 does not read 5.0.
OrderedJson millionths(std::int64_t micros) {
  if (micros % kMicrosPerUnit == 0) return micros / kMicrosPerUnit;
  return static_cast<double>(micros) / 1e6;
}

OrderedJson decimal(const Shape& shape) {
  const bool above = shape.least == 1;
  OrderedJson out{{"type", "number"},
                  {"minimum", above ? OrderedJson(0) : millionths(shape.least)},
                  {"maximum", millionths(shape.most)}};
  if (above) out["exclusiveMinimum"] = true;
  return out;
}

OrderedJson table_of_keys(const std::vector<KeyInfo>& keys);

OrderedJson secret() {
  OrderedJson ways = OrderedJson::array();
  for (const char* way : {"env", "file", "credential"}) {
    ways.push_back({{"type", "object"},
                    {"properties", {{way, {{"type", "string"}, {"minLength", 1}}}}},
                    {"required", OrderedJson::array({way})},
                    {"additionalProperties", false}});
  }
  return {{"oneOf", ways}};
}

OrderedJson tables(const Shape& shape) {
  const OrderedJson one = table_of_keys(shape.nested());
  return {{"anyOf", OrderedJson::array({one, OrderedJson{{"type", "array"}, {"items", one}, {"maxItems", shape.most}}})}};
}

OrderedJson of(const Shape& shape) {
  switch (shape.kind) {
    case Shape::Kind::text:
    case Shape::Kind::lines:
    case Shape::Kind::path:
    case Shape::Kind::zone:
      return text(shape.most);
    case Shape::Kind::paths:
    case Shape::Kind::pattern:
    case Shape::Kind::texts:
    case Shape::Kind::messages:
      return one_or_many(text(shape.most));
    case Shape::Kind::headers:
      return {{"type", "object"}, {"additionalProperties", text(shape.most)}};
    case Shape::Kind::url:
      return pattern("^[a-z]+://[^ ]+$");
    case Shape::Kind::pointer:
      return pattern("^(key|event|(frame:)?(/([^~]|~[01])*)?)$");
    case Shape::Kind::word:
      return words(shape.words);
    case Shape::Kind::words:
      return one_or_many(words(shape.words));
    case Shape::Kind::boolean:
      return {{"type", "boolean"}};
    case Shape::Kind::count:
      return {{"type", "integer"}, {"minimum", shape.least}, {"maximum", shape.most}};
    case Shape::Kind::percent:
    case Shape::Kind::fraction:
    case Shape::Kind::seconds:
      return decimal(shape);
    case Shape::Kind::money:
      return {{"anyOf", OrderedJson::array({decimal(shape), pattern("^[0-9]*\\.?[0-9]+$")})}};
    case Shape::Kind::shares:
      return {{"anyOf", OrderedJson::array({OrderedJson{{"type", "number"}, {"minimum", 0}, {"exclusiveMinimum", true}},
                                            pattern("^[0-9_]*\\.?[0-9_]+[kKmMbB]?$")})}};
    case Shape::Kind::date:
      return pattern("^[0-9]{4}-[0-9]{2}-[0-9]{2}$");
    case Shape::Kind::clock:
      return pattern("^([01][0-9]|2[0-3]):[0-5][0-9](:00)?$");
    case Shape::Kind::letter:
      return pattern("^[A-Z]$");
    case Shape::Kind::mic:
      return pattern("^[A-Z0-9]{4}$");
    case Shape::Kind::secret:
      return secret();
    case Shape::Kind::table:
      return table_of_keys(shape.nested());
    case Shape::Kind::table_of:
      return {{"type", "object"}, {"additionalProperties", table_of_keys(shape.nested())}};
    case Shape::Kind::tables:
      return tables(shape);
  }
  return {};
}

OrderedJson property(const KeyInfo& key) {
  OrderedJson out = of(key.shape);
  std::string what(key.what);
  if (!key.only_for.empty()) what.append(" (kind: ").append(key.only_for).append(")");
  out["description"] = what;
  if (const std::string fallback = default_of(key); !fallback.empty()) out["default"] = OrderedJson::parse(fallback);
  return out;
}

OrderedJson table_of_keys(const std::vector<KeyInfo>& keys) {
  OrderedJson properties = OrderedJson::object();
  for (const KeyInfo& key : keys) properties[std::string(key.name)] = property(key);
  return {{"type", "object"}, {"properties", properties}, {"additionalProperties", false}};
}

OrderedJson required(std::initializer_list<const char*> keys) {
  OrderedJson list = OrderedJson::array();
  for (const char* key : keys) list.push_back(key);
  return {{"required", list}};
}

/// What a section needs to be of use at all.
void add_needs(OrderedJson& table, const std::string& name) {
  if (name == "watch") {
    table["required"] = OrderedJson::array({"symbol"});
    table["oneOf"] = OrderedJson::array({required({"pivot"}), required({"peak"})});
  } else if (name == "feed" || name == "channel") {
    table["required"] = OrderedJson::array({"kind"});
  }
}

}  // namespace

std::string json_schema() {
  OrderedJson root{{"$schema", "http://json-schema.org/draft-04/schema#"},
                   {"title", "Brimwatch: configuration and watch lists"},
                   {"type", "object"}};
  OrderedJson properties = OrderedJson::object();
  OrderedJson definitions = OrderedJson::object();
  for (const SectionInfo& section : all_sections()) {
    if (section.name.empty()) {
      for (const KeyInfo& key : section.keys) properties[std::string(key.name)] = property(key);
      continue;
    }
    OrderedJson table = table_of_keys(section.keys);
    add_needs(table, section.name);
    definitions[section.name] = table;
    const OrderedJson one{{"$ref", "#/definitions/" + section.name}};
    OrderedJson entry = one;
    if (section.many)
      entry = {{"anyOf",
                OrderedJson::array({one, OrderedJson{{"type", "array"}, {"items", one}, {"maxItems", section.most}}})}};
    if (section.many) entry["description"] = section.what;
    properties[section.name] = entry;
  }
  root["properties"] = properties;
  root["additionalProperties"] = false;
  root["definitions"] = definitions;
  return root.dump(1) + "\n";
}

}  // namespace brimwatch
