#include "adapters/feeds/decoding/flag.h"

#include <algorithm>
#include <array>
#include <span>

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, 6> kYes{"true", "t", "yes", "y", "on", "1"};
constexpr std::array<std::string_view, 6> kNo{"false", "f", "no", "n", "off", "0"};

bool is_one_of(std::string_view text, std::span<const std::string_view> words) {
  return std::any_of(words.begin(), words.end(), [text](std::string_view word) {
    return std::equal(text.begin(), text.end(), word.begin(), word.end(),
                      [](char a, char b) { return (a >= 'A' && a <= 'Z' ? a + 32 : a) == b; });
  });
}

}  // namespace

std::optional<bool> flag_in_text(std::string_view text) {
  const std::size_t first = text.find_first_not_of(' ');
  if (first == text.npos) return false;
  text = text.substr(first, text.find_last_not_of(' ') - first + 1);
  if (is_one_of(text, kYes)) return true;
  if (is_one_of(text, kNo)) return false;
  return std::nullopt;
}

}  // namespace brimwatch
