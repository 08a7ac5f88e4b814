// Readers of single values. Each takes what its shape allows, or tells what was found and what would have been right.
#include <array>
#include <cmath>
#include <limits>

#include "config/reading/nearest.h"
#include "config/reading/number.h"
#include "config/reading/text.h"
#include "config/sections/key.h"

namespace brimwatch {
namespace {

constexpr std::size_t kListMost = 1000;

bool is_text(const Value& value) { return value.kind == Value::Kind::text || value.kind == Value::Kind::cell; }

/// The number in millionths; a text counts where the shape takes numbers in quotes, and in the cells of a CSV file.
std::optional<std::int64_t> micros_in(const Value& value, const Shape& shape) {
  switch (value.kind) {
    case Value::Kind::integer:
      if (value.integer > INT64_MAX / kMicrosPerUnit || value.integer < INT64_MIN / kMicrosPerUnit) return std::nullopt;
      return value.integer * kMicrosPerUnit;
    case Value::Kind::decimal:
      return micros_of(value.text);
    case Value::Kind::text:
      return shape.kind == Shape::Kind::money ? parse_micros(value.text, Extra::refuse) : std::nullopt;
    case Value::Kind::cell:
      return parse_micros(value.text, Extra::refuse);
    case Value::Kind::boolean:
    case Value::Kind::date:
    case Value::Kind::clock:
    case Value::Kind::moment:
    case Value::Kind::list:
    case Value::Kind::table:
      return std::nullopt;
  }
  return std::nullopt;
}

std::optional<std::int64_t> decimal_in(const Value& value, const Shape& shape) {
  const auto micros = micros_in(value, shape);
  return micros && *micros >= shape.least && *micros <= shape.most ? micros : std::nullopt;
}

std::optional<std::int64_t> count_in(const Value& value, const Shape& shape) {
  std::int64_t count = value.integer;
  if (value.kind == Value::Kind::cell) {
    const auto micros = parse_micros(value.text, Extra::refuse);
    if (!micros || *micros % kMicrosPerUnit != 0) return std::nullopt;
    count = *micros / kMicrosPerUnit;
  } else if (value.kind != Value::Kind::integer) {
    return std::nullopt;
  }
  return count >= shape.least && count <= shape.most ? std::optional(count) : std::nullopt;
}

/// Text that is one line, or may hold line ends, and is not too long. Told when not.
bool text_in(std::string& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!is_text(value)) return reading.refuse(value.place, value, shape);
  const bool many_lines = shape.kind == Shape::Kind::lines || shape.kind == Shape::Kind::messages;
  if (const auto wrong = text_problem(value.text, static_cast<std::size_t>(shape.most), many_lines); !wrong.empty()) {
    return reading.tell(value.place, wrong);
  }
  into = value.text;
  return true;
}

template <typename T>
bool read_decimal(T& into, const Value& value, const Shape& shape, Reading& reading) {
  const auto micros = decimal_in(value, shape);
  if (!micros) return reading.refuse(value.place, value, shape);
  into = static_cast<T>(*micros);
  return true;
}

template <typename T>
bool read_count(T& into, const Value& value, const Shape& shape, Reading& reading) {
  const auto count = count_in(value, shape);
  if (!count) return reading.refuse(value.place, value, shape);
  into = static_cast<T>(*count);
  return true;
}

/// Position of the word among those allowed.
std::optional<std::size_t> word_in(const Value& value, const Shape& shape, Reading& reading) {
  if (is_text(value)) {
    for (std::size_t i = 0; i < shape.words.size(); ++i) {
      if (shape.words[i] == value.text) return i;
    }
    const auto near = nearest(value.text, {shape.words.begin(), shape.words.end()});
    if (!near.empty()) {
      std::string meant = expected(shape) + "; nearest known word " + in_quotes(near);
      reading.refuse(value.place, describe(value), meant);
      return std::nullopt;
    }
  }
  reading.refuse(value.place, value, shape);
  return std::nullopt;
}

bool is_mic(std::string_view text) {
  if (text.size() != 4) return false;
  for (const char c : text) {
    if (!((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9'))) return false;
  }
  return true;
}

/// RFC 6901: empty, or tokens that each begin with '/'; '~' only as ~0 and ~1. Ours besides: "frame:" in front looks in
/// the whole frame, "key" is the name of the member that holds the message, "event" that of a server-sent event.
bool is_pointer(std::string_view text) {
  if (text == "key" || text == "event") return true;
  if (text.substr(0, 6) == "frame:") text.remove_prefix(6);
  if (!text.empty() && text.front() != '/') return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] != '~') continue;
    if (i + 1 >= text.size() || (text[i + 1] != '0' && text[i + 1] != '1')) return false;
  }
  return true;
}

/// Texts of a list, or of one text; each checked.
template <typename Each>
bool for_each_text(const Value& value, const Shape& shape, Reading& reading, Each each) {
  if (is_text(value)) return each(value);
  if (value.kind != Value::Kind::list) return reading.refuse(value.place, value, shape);
  if (value.items.size() > kListMost) {
    return reading.refuse(value.place, std::to_string(value.items.size()) + " entries",
                          "at most " + std::to_string(kListMost));
  }
  bool good = true;
  for (const Value& item : value.items) good = each(item) && good;
  return good;
}

/// Without a database of zones any name goes; the loader says so.
bool known_zone(const Value& value, const Shape& shape, Reading& reading) {
  if (reading.zones == nullptr || value.text.empty() || !reading.zones->known()) return true;
  if (reading.zones->has(value.text)) return true;
  std::string meant = expected(shape);
  if (const auto near = reading.zones->nearest_to(value.text); !near.empty())
    meant += "; nearest known name " + in_quotes(near);
  return reading.refuse(value.place, describe(value), meant);
}

template <typename Enum, typename Of>
bool read_words(std::vector<Enum>& into, const Value& value, const Shape& shape, Reading& reading, Of of) {
  into.clear();
  return for_each_text(value, shape, reading, [&](const Value& item) {
    if (!word_in(item, shape, reading)) return false;
    into.push_back(*of(item.text));
    return true;
  });
}

}  // namespace

bool read(std::string& into, const Value& value, const Shape& shape, Reading& reading) {
  if (shape.kind == Shape::Kind::word) {
    if (!word_in(value, shape, reading)) return false;
    into = value.text;
    return true;
  }
  if (shape.kind == Shape::Kind::clock && value.kind == Value::Kind::clock) {
    into = value.text.substr(0, 5);
    return true;
  }
  std::string text;
  if (!text_in(text, value, shape, reading)) return false;
  const bool wrong = (shape.kind == Shape::Kind::clock && !minutes_of(text)) ||
                     (shape.kind == Shape::Kind::mic && !is_mic(text)) ||
                     (shape.kind == Shape::Kind::pointer && !is_pointer(text));
  if (wrong) return reading.refuse(value.place, value, shape);
  if (shape.kind == Shape::Kind::zone && !known_zone(value, shape, reading)) return false;
  if (shape.kind == Shape::Kind::path) into = absolute_path(text, reading.directory, reading.home);
  else into = std::move(text);
  return true;
}

bool read(std::vector<std::string>& into, const Value& value, const Shape& shape, Reading& reading) {
  into.clear();
  return for_each_text(value, shape, reading, [&](const Value& item) {
    std::string text;
    if (!text_in(text, item, shape, reading)) return false;
    if (shape.kind == Shape::Kind::paths) text = absolute_path(text, reading.directory, reading.home);
    into.push_back(std::move(text));
    return true;
  });
}

bool read(std::map<std::string, std::string>& into, const Value& value, const Shape& shape, Reading& reading) {
  into.clear();
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  if (value.entries.size() > kListMost) {
    return reading.refuse(value.place, std::to_string(value.entries.size()) + " entries",
                          "at most " + std::to_string(kListMost));
  }
  bool good = true;
  for (const Entry& entry : value.entries) {
    const std::string wrong = text_problem(entry.key, 200, false);
    const bool named = wrong.empty() || reading.tell(entry.place, wrong);
    good = named && text_in(into[entry.key], entry.value, shape, reading) && good;
  }
  return good;
}

bool read(bool& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::boolean) return reading.refuse(value.place, value, shape);
  into = value.boolean;
  return true;
}

bool read(std::int32_t& into, const Value& value, const Shape& shape, Reading& reading) {
  if (shape.kind == Shape::Kind::percent) return read_decimal(into, value, shape, reading);
  return read_count(into, value, shape, reading);
}

bool read(std::uint16_t& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_count(into, value, shape, reading);
}

bool read(std::uint64_t& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_count(into, value, shape, reading);
}

bool read(double& into, const Value& value, const Shape& shape, Reading& reading) {
  std::int64_t micros = 0;
  if (!read_decimal(micros, value, shape, reading)) return false;
  into = static_cast<double>(micros) / 1e6;
  return true;
}

bool read(Price& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_decimal(into.micros, value, shape, reading);
}

bool read(std::optional<Shares>& into, const Value& value, const Shape& shape, Reading& reading) {
  std::optional<Shares> shares;
  if (is_text(value)) shares = parse_brief_shares(value.text);
  else if (const auto micros = micros_in(value, shape)) shares = Shares{*micros};
  if (!shares || shares->micros < shape.least || shares->micros > shape.most) {
    return reading.refuse(value.place, value, shape);
  }
  into = shares;
  return true;
}

bool read(std::optional<Date>& into, const Value& value, const Shape& shape, Reading& reading) {
  const bool may_be = is_text(value) || value.kind == Value::Kind::date;
  const auto date = may_be ? parse_date(value.text) : std::nullopt;
  if (!date) return reading.refuse(value.place, value, shape);
  into = date;
  return true;
}

bool read(std::chrono::seconds& into, const Value& value, const Shape& shape, Reading& reading) {
  const auto micros = decimal_in(value, shape);
  if (!micros || *micros % kMicrosPerUnit != 0) {
    return reading.refuse(value.place, describe(value), expected(shape) + ", without a fraction");
  }
  into = std::chrono::seconds(*micros / kMicrosPerUnit);
  return true;
}

bool read(std::chrono::milliseconds& into, const Value& value, const Shape& shape, Reading& reading) {
  const auto micros = decimal_in(value, shape);
  if (!micros || *micros % 1000 != 0) return reading.refuse(value.place, value, shape);
  into = std::chrono::milliseconds(*micros / 1000);
  return true;
}

bool read(Mic& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!is_text(value) || !is_mic(value.text)) return reading.refuse(value.place, value, shape);
  into = value.text;
  return true;
}

bool read(SecretSource& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind == Value::Kind::text) {  // never printed: it may be the real one
    return reading.refuse(value.place, "the secret itself",
                          expected(shape) + ": a secret never stands in the configuration");
  }
  constexpr std::array<std::string_view, 3> kWays{"env", "file", "credential"};
  if (value.kind != Value::Kind::table || value.entries.size() != 1) {
    return reading.refuse(value.place, value, shape);
  }
  const Entry& entry = value.entries.front();
  const Value& name = entry.value;
  const bool usable =
      name.kind == Value::Kind::text && !name.text.empty() && text_problem(name.text, 4096, false).empty();
  for (std::size_t i = 0; i < kWays.size(); ++i) {
    if (entry.key != kWays[i]) continue;
    if (!usable) return reading.refuse(name.place, name, shape);
    into.kind = static_cast<SecretSource::Kind>(i + 1);
    into.name =
        into.kind == SecretSource::Kind::file ? absolute_path(name.text, reading.directory, reading.home) : name.text;
    return true;
  }
  return reading.refuse(entry.place, in_quotes(entry.key), expected(shape));
}

bool read(Trend& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!word_in(value, shape, reading)) return false;
  into = *trend_of(value.text);
  return true;
}

namespace {

/// Of an enum whose values stand in the order of the shape's words.
template <typename Enum>
bool read_word(Enum& into, const Value& value, const Shape& shape, Reading& reading) {
  const auto word = word_in(value, shape, reading);
  if (word) into = static_cast<Enum>(*word);
  return word.has_value();
}

}  // namespace

bool read(WhenDown& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_word(into, value, shape, reading);
}

bool read(DayVolumeIncludes& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_word(into, value, shape, reading);
}

bool read(SplitGuard& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_word(into, value, shape, reading);
}

bool read(Halts& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_word(into, value, shape, reading);
}

bool read(TickTable& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_word(into, value, shape, reading);
}

bool read(BarTreatment& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_word(into, value, shape, reading);
}

bool read(Tape& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!word_in(value, shape, reading)) return false;
  into = value.text == "C" ? Tape::utdf : Tape::cts;
  return true;
}

bool read(char& into, const Value& value, const Shape& shape, Reading& reading) {
  const bool one_letter = is_text(value) && value.text.size() == 1 && value.text[0] >= 'A' && value.text[0] <= 'Z';
  if (!one_letter) return reading.refuse(value.place, value, shape);
  into = value.text[0];
  return true;
}

bool read(std::vector<NoticeKind>& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_words(into, value, shape, reading, notice_kind_of);
}

bool read(std::vector<Weight>& into, const Value& value, const Shape& shape, Reading& reading) {
  return read_words(into, value, shape, reading, weight_of);
}

}  // namespace brimwatch
