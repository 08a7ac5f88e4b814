#pragma once
// What a configuration file says, free of the library that read it: values with the place where they stand. Numbers keep
// the text they were written in, so that 48.35 never passes through a double.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace brimwatch {

struct Place {
  std::uint16_t file = 0;    ///< index into the list of files read
  std::uint32_t line = 0;    ///< 1-based; 0: the file as a whole
  std::uint32_t column = 0;  ///< 1-based, in characters; 0: the line as a whole

  auto operator<=>(const Place&) const = default;
};

struct Entry;

struct Value {
  enum class Kind : std::uint8_t {
    text,
    integer,
    decimal,
    boolean,
    date,
    clock,   ///< local time
    moment,  ///< date and time
    list,
    table,
    cell,  ///< of a CSV file: text that may stand for anything
  };
  Kind kind = Kind::text;
  Place place;
  std::string text;  ///< content of a text; otherwise the value as it is written in the file
  std::int64_t integer = 0;
  bool boolean = false;
  std::vector<Value> items;    ///< of a list
  std::vector<Entry> entries;  ///< of a table, in the order of their places

  [[nodiscard]] const Entry* find(std::string_view key) const;
};

struct Entry {
  std::string key;
  Place place;
  Value value;
};

/// For an error: "48,35" in quotes and shortened, a number as written, `true`, "a list", "a table".
[[nodiscard]] std::string describe(const Value& value);

/// In quotes, control characters as escapes, at most 60 characters.
[[nodiscard]] std::string in_quotes(std::string_view text);

}  // namespace brimwatch
