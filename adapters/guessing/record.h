#pragma once
// A message of an unknown source, taken apart without a mapping: each value with the JSON Pointer that leads to it. Pure.
#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/text/json_fwd.h"

namespace brimwatch {

struct Leaf {
  enum class Kind : std::uint8_t { text, number, truth, nothing, list } kind = Kind::nothing;
  std::string text;                ///< as the mapping's decoder would see it
  std::vector<std::string> items;  ///< of a list
};

/// One message. Pointers are those of a mapping: into the message, "frame:/..." into what stands around it, "key",
/// "event".
struct Record {
  std::size_t frame = 0;                             ///< which frame of the sample it came in
  std::size_t place = 0;                             ///< which place of messages it stood at
  std::vector<std::pair<std::string, Leaf>> leaves;  ///< in the order of the text

  [[nodiscard]] const Leaf* find(std::string_view pointer) const;
};

/// Adds the leaves of a value, at most 200, and of a list its first sixteen entries one by one as well.
void add_leaves(const OrderedJson& value, const std::string& pointer, Record& into);

/// One more token of a pointer, escaped as RFC 6901 has it.
[[nodiscard]] std::string pointer_to(const std::string& pointer, std::string_view token);

}  // namespace brimwatch
