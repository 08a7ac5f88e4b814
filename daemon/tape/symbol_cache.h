#pragma once
// A small table in front of SymbolTable that finds a symbol of at most eight bytes by one multiplication.
#include <array>
#include <cstdint>
#include <cstring>
#include <string_view>
#include <vector>

#include "core/symbols.h"

namespace brimwatch {

class SymbolCache {
 public:
  static constexpr std::size_t kLongest = 32;      ///< bytes in a symbol
  static constexpr std::size_t kMost = 1'000'000;  ///< symbols; a tape that names more is refused row by row

  explicit SymbolCache(SymbolTable& table);

  /// kNoSymbol when the text cannot be a symbol, or when there are too many.
  SymbolId resolve(std::string_view text);

  /// The same for 1 to 8 bytes packed into a word, first byte lowest, zeros behind; kNoSymbol when not seen before.
  [[nodiscard]] SymbolId find_packed(std::uint64_t key) const {
    const Line* lines = lines_.data();
    for (std::size_t i = home(key);; i = (i + 1) & mask_) {
      // No branch on which of the four it is: that is what no processor can guess.
      const Line& line = lines[i];
      SymbolId id = kNoSymbol;  // all bits set, so that "and" picks the one that is the key's
      for (std::size_t k = 0; k < 4; ++k) id &= line.ids[k] | (static_cast<SymbolId>(line.keys[k] == key) - 1);
      if (id != kNoSymbol || line.keys[3] == 0) return id;
    }
  }

 private:
  /// A cache line: four keys, filled from the first on, and their ids. A full line runs over into the next.
  struct alignas(64) Line {
    std::array<std::uint64_t, 4> keys{};
    std::array<SymbolId, 4> ids{};
  };
  [[nodiscard]] std::size_t home(std::uint64_t key) const {
    return static_cast<std::size_t>((key * 0x9E3779B97F4A7C15ULL) >> shift_);
  }
  void insert(std::uint64_t key, SymbolId id);
  void grow();

  SymbolTable& table_;
  std::vector<Line> lines_;
  std::size_t mask_ = 0, used_ = 0;
  int shift_ = 0;
};

/// False for what a symbol may not be: empty, longer than 32 bytes, with control characters, or with blanks at its ends.
[[nodiscard]] bool is_symbol(std::string_view text);

}  // namespace brimwatch
