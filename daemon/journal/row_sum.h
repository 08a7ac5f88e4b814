#pragma once
// The sum that stands in every row, so that a flipped bit on the disk cannot pass for a fact. Each step is a bijection of
// the state so far, so that one changed value always changes the sum.
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <string_view>

namespace brimwatch {

class RowSum {
 public:
  void add(std::int64_t value) { mix(static_cast<std::uint64_t>(value)); }
  void add(double value) { mix(std::isnan(value) ? 0x7ff8000000000000U : std::bit_cast<std::uint64_t>(value)); }
  void add(std::string_view bytes) {
    mix(bytes.size());
    for (; bytes.size() >= 8; bytes.remove_prefix(8)) mix(word(bytes.substr(0, 8)));
    if (!bytes.empty()) mix(word(bytes));
  }
  [[nodiscard]] std::int64_t value() const { return static_cast<std::int64_t>(state_); }

 private:
  static std::uint64_t word(std::string_view bytes) {
    std::uint64_t word = 0;
    std::memcpy(&word, bytes.data(), bytes.size());
    return word;
  }
  void mix(std::uint64_t word) { state_ = (std::rotl(state_, 23) ^ word) * 0x9e3779b97f4a7c15U; }
  std::uint64_t state_ = 0xcbf29ce484222325U;
};

}  // namespace brimwatch
