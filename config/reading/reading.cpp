// How errors are worded, and what every key shares.
#include <algorithm>
#include <array>

#include "config/reading/mistake.h"
#include "config/reading/nearest.h"
#include "config/sections/key.h"
#include "config/sections/sections.h"
#include "core/price.h"

namespace brimwatch {
namespace {

std::string number(std::int64_t micros) { return format_micros(micros, 0); }

/// "from 0 to 100", "above 0 and at most 100".
std::string range(std::int64_t least, std::int64_t most, bool decimal) {
  if (decimal && least == 1) return "above 0 and at most " + number(most);
  if (decimal) return "from " + number(least) + " to " + number(most);
  return "from " + std::to_string(least) + " to " + std::to_string(most);
}

std::string either(std::span<const std::string_view> words) {
  std::string out;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) out += i + 1 == words.size() ? " or " : ", ";
    out += in_quotes(words[i]);
  }
  return out;
}

/// The section that knows such a key, as one writes it; empty when none does.
std::string home_of(std::string_view key, const std::vector<KeyInfo>& here) {
  for (const SectionInfo& section : all_sections()) {
    const bool same =
        section.keys.size() == here.size() && !here.empty() && section.keys.front().name == here.front().name;
    if (same) continue;
    for (const KeyInfo& known : section.keys) {
      if (known.name == key) return section.heading;
    }
  }
  return {};
}

}  // namespace

bool Reading::tell(const Place& place, std::string_view what) {
  std::string text = section;
  if (!name.empty()) text.append(" ").append(in_quotes(name));
  if (!text.empty()) text += ": ";
  if (!key.empty()) text.append(key).append(": ");
  text.append(what).append("; nothing was loaded");
  errors.add(place, std::move(text));
  return false;
}

bool Reading::refuse(const Place& place, std::string_view found, std::string_view allowed) {
  return tell(place, std::string("found ").append(found).append(", expected ").append(allowed));
}

namespace {

/// What a person meant by a number or a day that is written as text: 54,09, 5 %, 31.12.2026.
std::optional<std::string> meant_by(const Value& value, Shape::Kind kind) {
  if (value.kind != Value::Kind::text && value.kind != Value::Kind::cell) return std::nullopt;
  switch (kind) {
    case Shape::Kind::count:
    case Shape::Kind::percent:
    case Shape::Kind::money:
    case Shape::Kind::fraction:
    case Shape::Kind::shares:
      return meant_in_text(value.text, false);
    case Shape::Kind::date:
      return meant_in_text(value.text, true);
    default:
      return std::nullopt;
  }
}

}  // namespace

bool Reading::refuse(const Place& place, const Value& value, const Shape& shape) {
  return refuse(place, describe(value), meant_by(value, shape.kind).value_or(expected(shape)));
}

std::string expected(const Shape& shape) {
  switch (shape.kind) {
    case Shape::Kind::text:
    case Shape::Kind::lines:
      return "text in quotes";
    case Shape::Kind::path:
      return "a path in quotes";
    case Shape::Kind::paths:
    case Shape::Kind::pattern:
      return "a list of paths such as [\"weekend.toml\"]";
    case Shape::Kind::texts:
    case Shape::Kind::messages:
      return "a list of texts such as [\"one\", \"two\"]";
    case Shape::Kind::headers:
      return "a table of texts such as { name = \"value\" }";
    case Shape::Kind::url:
      return "an address in quotes such as \"https://host/path\"";
    case Shape::Kind::pointer:
      return "a JSON Pointer such as \"/data/price\"";
    case Shape::Kind::word:
      return either(shape.words);
    case Shape::Kind::words:
      return "a list of " + either(shape.words);
    case Shape::Kind::boolean:
      return "true or false";
    case Shape::Kind::count:
      return "a whole number " + range(shape.least, shape.most, false);
    case Shape::Kind::percent:
      return "a percentage " + range(shape.least, shape.most, true) + " with at most six decimals";
    case Shape::Kind::money:
      return "a number " + range(shape.least, shape.most, true) + " with at most six decimals, such as 48.35";
    case Shape::Kind::fraction:
      return "a number " + range(shape.least, shape.most, true) + " with at most six decimals, such as 0.70";
    case Shape::Kind::seconds:
      return "a number of seconds " + range(shape.least, shape.most, true);
    case Shape::Kind::shares:
      return "a number of shares above 0 such as 1_300_000 or \"1.3M\"";
    case Shape::Kind::date:
      return "a day such as 2026-11-25";
    case Shape::Kind::clock:
      return "a time of day such as \"09:30\"";
    case Shape::Kind::letter:
      return "one capital letter";
    case Shape::Kind::mic:
      return "an exchange's four characters (ISO 10383) such as \"XNYS\"";
    case Shape::Kind::zone:
      return "the name of a time zone";
    case Shape::Kind::secret:
      return "{ env = \"NAME\" }, { file = \"path\" } or { credential = \"id\" }";
    case Shape::Kind::table:
      return "a table";
    case Shape::Kind::table_of:
      return "a table of tables";
    case Shape::Kind::tables:
      return "a table, or a list of tables";
  }
  return {};
}

const Place* Seen::find(std::string_view name) const {
  const auto found = std::find_if(seen_.begin(), seen_.end(), [&](const One& one) { return one.name == name; });
  return found == seen_.end() ? nullptr : &found->place;
}

Place Seen::at(std::string_view name, const Place& table) const {
  const Place* place = find(name);
  return place == nullptr ? table : *place;
}

std::optional<int> minutes_of(std::string_view text) {
  const auto digit = [&](std::size_t i) { return text[i] >= '0' && text[i] <= '9' ? text[i] - '0' : 99; };
  if (text.size() != 5 || text[2] != ':') return std::nullopt;
  const int hour = digit(0) * 10 + digit(1);
  const int minute = digit(3) * 10 + digit(4);
  if (hour > 23 || minute > 59) return std::nullopt;
  return hour * 60 + minute;
}

bool refuse_unknown(const Entry& entry, const std::vector<KeyInfo>& known, Reading& reading) {
  std::vector<std::string_view> names;
  for (const KeyInfo& key : known) names.push_back(key.name);
  std::string what = "found the unknown key " + in_quotes(entry.key);
  const std::string_view near = nearest(entry.key, names);
  // [feed] in a watch list is a section in the wrong file, not [shared]'s key of that name.
  const bool is_table = entry.value.kind == Value::Kind::table || entry.value.kind == Value::Kind::list;
  const std::string elsewhere = near.empty() && !is_table ? home_of(entry.key, known) : std::string();
  if (!near.empty()) {
    what += "; nearest known key " + in_quotes(near);
  } else if (!elsewhere.empty()) {
    what += "; it belongs in " + elsewhere;
  } else {
    what += ", expected one of ";
    for (std::size_t i = 0; i < names.size(); ++i) what.append(i > 0 ? ", " : "").append(names[i]);
  }
  reading.key = {};
  return reading.tell(entry.place, what);
}

}  // namespace brimwatch
