#include "adapters/guessing/record.h"

#include <algorithm>

#include "core/text/json.h"

namespace brimwatch {
namespace {

constexpr std::size_t kLeavesMost = 200, kEntriesMost = 16, kCountedMost = 64;

Leaf scalar_leaf(const OrderedJson& value) {
  if (value.is_string()) return {Leaf::Kind::text, value.get<std::string>(), {}};
  if (value.is_boolean()) return {Leaf::Kind::truth, value.get<bool>() ? "true" : "false", {}};
  if (value.is_number()) return {Leaf::Kind::number, value.dump(), {}};
  return {};
}

Leaf list_leaf(const OrderedJson& value) {
  Leaf leaf{Leaf::Kind::list, {}, {}};
  for (const OrderedJson& entry : value) {
    if (entry.is_primitive() && leaf.items.size() < kCountedMost) leaf.items.push_back(scalar_leaf(entry).text);
  }
  return leaf;
}

bool has_only_scalars(const OrderedJson& array) {
  return std::all_of(array.begin(), array.end(), [](const OrderedJson& entry) { return entry.is_primitive(); });
}

void add_array(const OrderedJson& value, const std::string& pointer, Record& into) {
  if (!pointer.empty() && has_only_scalars(value)) into.leaves.emplace_back(pointer, list_leaf(value));
  for (std::size_t i = 0; i < std::min(value.size(), kEntriesMost); ++i)
    add_leaves(value[i], pointer + "/" + std::to_string(i), into);
}

}  // namespace

const Leaf* Record::find(std::string_view pointer) const {
  const auto found = std::find_if(leaves.begin(), leaves.end(), [&](const auto& leaf) { return leaf.first == pointer; });
  return found == leaves.end() ? nullptr : &found->second;
}

std::string pointer_to(const std::string& pointer, std::string_view token) {
  std::string out = pointer + "/";
  for (const char c : token) {
    if (c == '~') out += "~0";
    else if (c == '/') out += "~1";
    else out += c;
  }
  return out;
}

void add_leaves(const OrderedJson& value, const std::string& pointer, Record& into) {
  if (into.leaves.size() >= kLeavesMost) return;
  if (value.is_array()) return add_array(value, pointer, into);
  if (!value.is_object()) return void(into.leaves.emplace_back(pointer, scalar_leaf(value)));
  for (const auto& [name, member] : value.items()) add_leaves(member, pointer_to(pointer, name), into);
}

}  // namespace brimwatch
