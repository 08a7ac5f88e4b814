#include "commands/snapshot_cells.h"

#include <cmath>

#include "core/price.h"
#include "core/shares.h"
#include "core/text/json.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

std::int64_t micros_of(double value) { return std::llround(value * kMicrosPerUnit); }

}  // namespace

std::optional<double> number_of(const OrderedJson& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_number() ? std::optional(found->get<double>()) : std::nullopt;
}

std::string words_of(const OrderedJson& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? clean_line(found->get<std::string>(), 200) : std::string();
}

std::string price_cell(const OrderedJson& object, const char* key) {
  const auto value = number_of(object, key);
  return value ? to_string(Price{micros_of(*value)}) : "-";
}

std::string percent_cell(const OrderedJson& object, const char* key, int decimals) {
  const auto value = number_of(object, key);
  return value ? percent_text(*value, decimals) : "-";
}

std::string shares_cell(const OrderedJson& object, const char* key) {
  const auto value = number_of(object, key);
  return value ? to_string(Shares{micros_of(*value)}) : "-";
}

std::string symbol_cell(const OrderedJson& object) {
  constexpr std::size_t kMost = 8;
  const std::string whole = words_of(object, "symbol");
  return length_of(whole) <= kMost ? whole : cut(whole, kMost - 1) + "~";
}

std::string cut(const std::string& text, std::size_t most) {
  std::size_t seen = 0, at = 0;
  while (at < text.size() && seen < most) {
    ++at, ++seen;
    while (at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0U) == 0x80U) ++at;
  }
  return text.substr(0, at);
}

}  // namespace brimwatch
