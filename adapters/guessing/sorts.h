#pragma once
// Which sorts of messages a source sends, and what tells them apart: a word at one pointer, perhaps another at a second
// one, or only what is there and what is not. Pure; what the sorts are is judged elsewhere (kinds.h).
#include <cstddef>
#include <string>
#include <vector>

#include "adapters/guessing/record.h"

namespace brimwatch {

/// Behind a pointer: only the part of its text before, or behind, the symbol tells ("trade.KLVN", "KLVN@trade").
inline constexpr const char* kTopicHead = "\x01h";
inline constexpr const char* kTopicTail = "\x01t";

struct Sort {
  std::vector<std::size_t> records;  ///< their places in the list, ascending
  std::string word, second;          ///< at the pointers below; empty where there is none
};

struct Sorts {
  std::string kind_pointer, second_pointer;  ///< empty: no word tells
  std::vector<Sort> sorts;                   ///< that with most messages first
};

[[nodiscard]] Sorts part_into_sorts(const std::vector<Record>& records);

}  // namespace brimwatch
