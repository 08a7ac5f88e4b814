#include "config/sections/written.h"

#include <algorithm>
#include <cmath>

#include "config/sections/key.h"
#include "core/price.h"
#include "core/text/json.h"

namespace brimwatch {
namespace {

/// With JSON's escapes, which TOML knows too.
std::string in_json(std::string_view text) { return json_text(Json(text)); }

/// One of the shape's words, in quotes; empty when it has no such word: what is "unknown" cannot be set.
std::string word_written(std::string_view word, const Shape& shape) {
  const auto& words = shape.words;
  if (std::find(words.begin(), words.end(), word) == words.end()) return {};
  return in_json(word);
}

/// Of an enum whose values stand in the order of the shape's words.
template <typename Enum>
std::string word_at(Enum value, const Shape& shape) {
  return in_json(shape.words[static_cast<std::size_t>(value)]);
}

template <typename T, typename One>
std::string list_written(const std::vector<T>& all, One one) {
  std::string out;
  for (const T& item : all) out.append(out.empty() ? "[" : ", ").append(one(item));
  return out.empty() ? out : out + "]";
}

}  // namespace

std::string written(const std::string& value, const Shape& shape) {
  if (shape.kind == Shape::Kind::word) return word_written(value, shape);
  return value.empty() ? std::string() : in_json(value);
}

std::string written(const std::vector<std::string>& value, const Shape&) { return list_written(value, in_json); }

std::string written(const std::map<std::string, std::string>& value, const Shape&) {
  std::string out;
  for (const auto& [name, text] : value)
    out.append(out.empty() ? "{ " : ", ").append(in_json(name)).append(" = ").append(in_json(text));
  return out.empty() ? out : out + " }";
}

std::string written(bool value, const Shape&) { return value ? "true" : "false"; }

std::string written(std::int32_t value, const Shape& shape) {
  return shape.kind == Shape::Kind::percent ? format_micros(value, 0) : std::to_string(value);
}

std::string written(std::uint16_t value, const Shape&) { return std::to_string(value); }
std::string written(std::uint64_t value, const Shape&) { return std::to_string(value); }
std::string written(double value, const Shape&) { return format_micros(std::llround(value * 1e6), 0); }
std::string written(Price value, const Shape&) { return format_micros(value.micros, 0); }

std::string written(const std::optional<Shares>& value, const Shape&) {
  return value ? format_micros(value->micros, 0) : std::string();
}

std::string written(const std::optional<Date>& value, const Shape&) { return value ? to_string(*value) : std::string(); }
std::string written(std::chrono::seconds value, const Shape&) { return std::to_string(value.count()); }
std::string written(std::chrono::milliseconds value, const Shape&) { return format_micros(value.count() * 1000, 0); }

std::string written(const Mic& value, const Shape&) { return value.empty() ? std::string() : in_json(value.text()); }

/// A secret's place has no default.
std::string written(const SecretSource&, const Shape&) { return {}; }

std::string written(Trend value, const Shape& shape) { return word_written(to_string(value), shape); }
std::string written(WhenDown value, const Shape& shape) { return word_at(value, shape); }
std::string written(DayVolumeIncludes value, const Shape& shape) { return word_at(value, shape); }
std::string written(SplitGuard value, const Shape& shape) { return word_at(value, shape); }
std::string written(Halts value, const Shape& shape) { return word_at(value, shape); }
std::string written(TickTable value, const Shape& shape) { return word_at(value, shape); }
std::string written(BarTreatment value, const Shape& shape) { return word_at(value, shape); }
/// It follows from the first feed.
std::string written(Tape, const Shape&) { return {}; }
std::string written(char value, const Shape&) { return value == 0 ? std::string() : in_json({&value, 1}); }

std::string written(const std::vector<NoticeKind>& value, const Shape&) {
  return list_written(value, [](NoticeKind kind) { return in_json(to_string(kind)); });
}

std::string written(const std::vector<Weight>& value, const Shape&) {
  return list_written(value, [](Weight weight) { return in_json(to_string(weight)); });
}

}  // namespace brimwatch
