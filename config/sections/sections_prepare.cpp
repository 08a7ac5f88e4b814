// The keys of [prepare]: made from the rule book's own table, so that a rule is written down once.
#include <cmath>
#include <vector>

#include "config/sections/sections.h"
#include "config/sections/shapes.h"

namespace brimwatch {
namespace sections {
namespace {

bool set_rule_of_thumb(RuleBook& into, const Value& value, const Shape& shape, Reading& reading) {
  for (const RuleKey& rule : rule_keys()) {
    if (reading.key != rule.name) continue;
    if (const auto* whole = std::get_if<int RuleBook::*>(&rule.member)) return read(into.**whole, value, shape, reading);
    return read(into.*std::get<double RuleBook::*>(rule.member), value, shape, reading);
  }
  return false;
}

/// Of the key's name.
std::string initial_rule(const KeyInfo& key) {
  const RuleBook untouched;
  for (const RuleKey& rule : rule_keys()) {
    if (key.name != rule.name) continue;
    if (const auto* whole = std::get_if<int RuleBook::*>(&rule.member)) return written(untouched.**whole, key.shape);
    return written(untouched.*std::get<double RuleBook::*>(rule.member), key.shape);
  }
  return {};
}

Shape shape_of(const RuleKey& rule) {
  if (std::holds_alternative<int RuleBook::*>(rule.member))
    return count(std::llround(rule.least), std::llround(rule.most));
  const std::int64_t least = std::llround(rule.least * kMillion), most = std::llround(rule.most * kMillion);
  const bool percentage = std::string_view(rule.meaning).find('%') != std::string_view::npos;
  return percentage ? percent(least, most) : Shape{Shape::Kind::fraction, least, most};
}

std::vector<Key<RuleBook>> make_keys() {
  std::vector<Key<RuleBook>> keys;
  for (const RuleKey& rule : rule_keys())
    keys.push_back({{rule.name, shape_of(rule), rule.meaning}, {set_rule_of_thumb, initial_rule}});
  return keys;
}

}  // namespace
}  // namespace sections

std::span<const Key<RuleBook>> prepare_keys() {
  static const std::vector<Key<RuleBook>> kKeys = sections::make_keys();
  return kKeys;
}

}  // namespace brimwatch
