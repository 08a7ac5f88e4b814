#include "config/reading/value.h"

#include <cstdio>

namespace brimwatch {

const Entry* Value::find(std::string_view key) const {
  for (const Entry& entry : entries) {
    if (entry.key == key) return &entry;
  }
  return nullptr;
}

std::string in_quotes(std::string_view text) {
  constexpr std::size_t kMost = 60;
  std::string out = "\"";
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const bool starts_character = (byte & 0xC0U) != 0x80U;
    if (starts_character && out.size() > kMost) return out + "...\"";
    if (byte < 0x20 || byte == 0x7F) {
      char escape[8];
      std::snprintf(escape, sizeof escape, "\\x%02X", byte);
      out += escape;
    } else {
      out += text[i];
    }
  }
  return out + "\"";
}

std::string describe(const Value& value) {
  switch (value.kind) {
    case Value::Kind::text:
    case Value::Kind::cell:
      return in_quotes(value.text);
    case Value::Kind::integer:
    case Value::Kind::decimal:
    case Value::Kind::boolean:
    case Value::Kind::date:
    case Value::Kind::clock:
    case Value::Kind::moment:
      return value.text.size() > 60 ? value.text.substr(0, 60) + "..." : value.text;
    case Value::Kind::list:
      return "a list";
    case Value::Kind::table:
      return "a table";
  }
  return {};
}

}  // namespace brimwatch
