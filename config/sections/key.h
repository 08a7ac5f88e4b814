#pragma once
// The tables of keys. One row says a key's name, what values it takes, where the value goes and what it means; the
// reader, the error texts and the JSON Schema are all made from the same rows.
#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "config/reading/problem.h"
#include "config/reading/value.h"
#include "config/reading/zone_names.h"
#include "config/sections/written.h"
#include "config/settings.h"

namespace brimwatch {

struct KeyInfo;

/// What a key takes. `least` and `most` count whole things, or millionths where the shape is a decimal.
struct Shape {
  enum class Kind : std::uint8_t {
    text,   ///< one line of at most `most` bytes
    lines,  ///< text that may hold line ends and tabs
    path,   ///< made absolute; relative to the file that names it; "~/" is the home directory
    paths,
    pattern,   ///< paths with wildcards, left as they are
    texts,     ///< a list of text, or one text
    messages,  ///< a list of text that may hold line ends, or one text
    headers,   ///< a table of texts
    url,
    pointer,  ///< JSON Pointer (RFC 6901)
    word,     ///< one of `words`
    words,    ///< a list of them, or one
    boolean,
    count,     ///< a whole number
    percent,   ///< a decimal
    money,     ///< a decimal, or the same in quotes
    fraction,  ///< a decimal
    seconds,   ///< a decimal down to a thousandth, or a whole number where the field holds whole seconds
    shares,    ///< a number, or text such as "1.3M"
    date,      ///< 2026-11-25
    clock,     ///< "09:30"
    letter,    ///< one capital letter
    mic,       ///< four capital letters or digits
    zone,      ///< name of a time zone
    secret,    ///< { env = ... }, { file = ... } or { credential = ... }
    table,     ///< keys in `nested`
    table_of,  ///< a table whose members are such tables
    tables,    ///< one such table, or a list of them
  };
  Kind kind = Kind::text;
  std::int64_t least = 0;
  std::int64_t most = 0;
  std::span<const std::string_view> words{};
  std::vector<KeyInfo> (*nested)() = nullptr;
};

struct KeyInfo {
  std::string_view name;
  Shape shape;
  std::string_view what;           ///< one sentence without its full stop
  std::string_view only_for = {};  ///< kinds of feed or channel that have the key, e.g. "stream poll"; empty: all
  /// What the key is when nobody sets it, as one writes it. From the settings' own initialisers; null: see default_of().
  std::string (*fallback)(const KeyInfo& key) = nullptr;
};

/// As one writes it in TOML, which is JSON too but for a table; empty: there is none, or it follows from other things,
/// which `what` then says.
[[nodiscard]] inline std::string default_of(const KeyInfo& key) {
  return key.fallback == nullptr ? std::string() : key.fallback(key);
}

/// What reading needs besides the value: where the errors go, and where they are.
struct Reading {
  Problems& errors;
  std::string directory;  ///< of the file that is read
  std::string home;
  std::string section;               ///< "watch", "feed" ...
  std::string name;                  ///< of the watch, feed or channel; may be empty
  std::string_view key = {};         ///< the one being read
  const ZoneNames* zones = nullptr;  ///< null: any name goes

  /// `watch "KLVN": pivot: found ..., expected ...; nothing was loaded`. Always false, for `return reading.refuse(...)`.
  bool refuse(const Place& place, std::string_view found, std::string_view expected);
  bool refuse(const Place& place, const Value& value, const Shape& shape);
  /// As above with `what` in the place of found and expected.
  bool tell(const Place& place, std::string_view what);
};

/// How a value gets into the settings, and what is there when none does.
template <typename T>
struct Access {
  using Read = bool (*)(T& into, const Value& value, const Shape& shape, Reading& reading);
  using Show = std::string (*)(const T& from, const Shape& shape);
  Read read = nullptr;
  std::string (*fallback)(const KeyInfo& key) = nullptr;
  Show show = nullptr;  ///< what it is now, as one writes it; null: of no use to anybody

  // NOLINTNEXTLINE(google-explicit-constructor): a row of a table names its reader, and no more where there is no default
  constexpr Access(Read reader, std::string (*otherwise)(const KeyInfo& key) = nullptr, Show shower = nullptr)
      : read(reader), fallback(otherwise), show(shower) {}
  bool operator()(T& into, const Value& value, const Shape& shape, Reading& reading) const {
    return read(into, value, shape, reading);
  }
};

template <typename T>
struct Key : KeyInfo {
  Access<T> set;
};

/// The names that a table had, with their places.
class Seen {
 public:
  void add(std::string_view name, const Place& place) { seen_.push_back({name, place}); }
  void clear() { seen_.clear(); }
  [[nodiscard]] const Place* find(std::string_view name) const;
  [[nodiscard]] bool has(std::string_view name) const { return find(name) != nullptr; }
  /// The place of that key, or of the table when it is not there.
  [[nodiscard]] Place at(std::string_view name, const Place& table) const;

 private:
  struct One {
    std::string_view name;
    Place place;
  };
  std::vector<One> seen_;
};

/// What is allowed there, for an error: `a number above 0 and at most 100, such as 5.0`.
[[nodiscard]] std::string expected(const Shape& shape);

// Readers of single values, one for each type of field. False (and told) when the value is not allowed.
bool read(std::string& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::vector<std::string>& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::map<std::string, std::string>& into, const Value& value, const Shape& shape, Reading& reading);
bool read(bool& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::int32_t& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::uint16_t& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::uint64_t& into, const Value& value, const Shape& shape, Reading& reading);
bool read(double& into, const Value& value, const Shape& shape, Reading& reading);
bool read(Price& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::optional<Shares>& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::optional<Date>& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::chrono::seconds& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::chrono::milliseconds& into, const Value& value, const Shape& shape, Reading& reading);
bool read(Mic& into, const Value& value, const Shape& shape, Reading& reading);
bool read(SecretSource& into, const Value& value, const Shape& shape, Reading& reading);
bool read(Trend& into, const Value& value, const Shape& shape, Reading& reading);
bool read(WhenDown& into, const Value& value, const Shape& shape, Reading& reading);
bool read(DayVolumeIncludes& into, const Value& value, const Shape& shape, Reading& reading);
bool read(SplitGuard& into, const Value& value, const Shape& shape, Reading& reading);
bool read(Halts& into, const Value& value, const Shape& shape, Reading& reading);
bool read(TickTable& into, const Value& value, const Shape& shape, Reading& reading);
bool read(BarTreatment& into, const Value& value, const Shape& shape, Reading& reading);
bool read(Tape& into, const Value& value, const Shape& shape, Reading& reading);
bool read(char& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::vector<NoticeKind>& into, const Value& value, const Shape& shape, Reading& reading);
bool read(std::vector<Weight>& into, const Value& value, const Shape& shape, Reading& reading);

/// The minutes after midnight of "22:30"; empty when it is no such text.
[[nodiscard]] std::optional<int> minutes_of(std::string_view text);

template <typename T, auto Member>
bool read_member(T& into, const Value& value, const Shape& shape, Reading& reading) {
  return read(into.*Member, value, shape, reading);
}

/// Settings with every default.
template <typename T>
const T& untouched() {
  static const T settings{};
  return settings;
}

/// What the field is in those.
template <typename T, auto Member>
std::string initial(const KeyInfo& key) {
  return written(untouched<T>().*Member, key.shape);
}

template <typename T, auto Member>
std::string shown_member(const T& from, const Shape& shape) {
  return written(from.*Member, shape);
}

/// The access of a row: `set<Rules, &Rules::range>`.
template <typename T, auto Member>
constexpr Access<T> set{&read_member<T, Member>, &initial<T, Member>, &shown_member<T, Member>};

/// The same for a key that must be there, so that what the field is otherwise is of no use to anybody.
template <typename T, auto Member>
constexpr Access<T> set_needed{&read_member<T, Member>};

template <typename T>
const Key<T>* find_key(std::span<const Key<T>> keys, std::string_view name) {
  for (const Key<T>& key : keys) {
    if (key.name == name) return &key;
  }
  return nullptr;
}

template <typename T>
std::vector<KeyInfo> infos(std::span<const Key<T>> keys) {
  std::vector<KeyInfo> out(keys.begin(), keys.end());
  for (std::size_t i = 0; i < out.size(); ++i) out[i].fallback = keys[i].set.fallback;
  return out;
}

/// Tells of a key that no table here knows, with the nearest that one does, or the section it belongs in.
bool refuse_unknown(const Entry& entry, const std::vector<KeyInfo>& known, Reading& reading);

/// Reads a whole table; every entry that is wrong is told.
template <typename T>
bool read_table(T& into, const Value& table, std::span<const Key<T>> keys, Reading& reading, Seen* seen = nullptr) {
  bool good = true;
  for (const Entry& entry : table.entries) {
    const Key<T>* key = find_key(keys, entry.key);
    if (key == nullptr) {
      good = refuse_unknown(entry, infos(keys), reading);
      continue;
    }
    if (seen != nullptr) seen->add(key->name, entry.place);
    reading.key = key->name;
    good = key->set(into, entry.value, key->shape, reading) && good;
  }
  return good;
}

}  // namespace brimwatch
