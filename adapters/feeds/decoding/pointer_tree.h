#pragma once
// Many JSON Pointers as one tree of their tokens, so that a document is walked once for all of them.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace brimwatch {

using Slot = std::int16_t;

/// One token of the pointers. `slots` are those whose pointer ends here.
struct PointerNode {
  std::string token;
  std::optional<std::size_t> index;  ///< the token as an array index
  std::vector<std::uint16_t> children;
  std::vector<Slot> slots;
};

struct PointerTree {
  std::vector<PointerNode> nodes{1};  ///< the first is the root

  void add(const std::vector<std::string>& tokens, Slot slot);
  [[nodiscard]] const PointerNode& root() const { return nodes.front(); }
  [[nodiscard]] const PointerNode* child(const PointerNode& node, std::string_view token) const;
  [[nodiscard]] const PointerNode* child_at(const PointerNode& node, std::size_t index) const;
  [[nodiscard]] bool empty() const { return nodes.size() == 1 && nodes[0].slots.empty(); }
  /// Whether every token at the top is an array index: what is walked is an array then.
  [[nodiscard]] bool is_by_position() const;
};

}  // namespace brimwatch
