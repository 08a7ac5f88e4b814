#include "adapters/feeds/decoding/pointer_tree.h"

#include <algorithm>

#include "adapters/feeds/decoding/pointer.h"

namespace brimwatch {

void PointerTree::add(const std::vector<std::string>& tokens, Slot slot) {
  std::uint16_t at = 0;
  for (const auto& token : tokens) {
    const PointerNode* next = child(nodes[at], token);
    if (next == nullptr) {
      const auto made = static_cast<std::uint16_t>(nodes.size());
      nodes.push_back({token, array_index(token), {}, {}});
      nodes[at].children.push_back(made);
      at = made;
    } else {
      at = static_cast<std::uint16_t>(next - nodes.data());
    }
  }
  nodes[at].slots.push_back(slot);
}

const PointerNode* PointerTree::child(const PointerNode& node, std::string_view token) const {
  for (const auto i : node.children) {
    if (nodes[i].token == token) return &nodes[i];
  }
  return nullptr;
}

const PointerNode* PointerTree::child_at(const PointerNode& node, std::size_t index) const {
  for (const auto i : node.children) {
    if (nodes[i].index == index) return &nodes[i];
  }
  return nullptr;
}

bool PointerTree::is_by_position() const {
  const auto& top = root().children;
  return !top.empty() && std::all_of(top.begin(), top.end(), [&](auto i) { return nodes[i].index.has_value(); });
}

}  // namespace brimwatch
