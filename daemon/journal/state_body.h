#pragma once
// A state as bytes: its fields one after the other, in the order of each_field (core/state.h). Which fields those are is
// said by a layout, a text kept once in the journal: a state of an older or newer layout is read by the names of its
// fields, and one that it does not have keeps its first value. So a field can come or go without a new schema.
//
// Layout: "name type" pairs separated by blanks. Type i: a whole number (zigzag varint); d: a double (8 bytes); a: a
// count and as many whole numbers.
#include <array>
#include <bit>
#include <cstdint>
#include <cstring>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "core/state.h"

namespace brimwatch {

/// Writes and reads the three types; reading past the end or a count that does not fit makes it unsound.
class BodyWriter {
 public:
  explicit BodyWriter(std::string& out) : out_(out) {}
  void integer(std::int64_t value) {
    auto zigzag = (static_cast<std::uint64_t>(value) << 1) ^ static_cast<std::uint64_t>(value >> 63);
    for (; zigzag >= 0x80; zigzag >>= 7) out_ += static_cast<char>(zigzag | 0x80);
    out_ += static_cast<char>(zigzag);
  }
  void real(double value) { out_.append(reinterpret_cast<const char*>(&value), sizeof value); }

 private:
  std::string& out_;
};

class BodyReader {
 public:
  explicit BodyReader(std::string_view bytes) : rest_(bytes) {}
  std::int64_t integer();
  double real();
  void skip(char type);
  [[nodiscard]] bool sound() const { return sound_; }
  void refuse() { sound_ = false; }
  [[nodiscard]] std::string_view rest() const { return rest_; }

 private:
  std::string_view rest_;
  bool sound_ = true;
};

namespace state_body {

template <typename T>
concept Scalar = std::is_integral_v<T> || std::is_enum_v<T>;

template <Scalar T>
std::int64_t number_of(T value) {
  return static_cast<std::int64_t>(value);
}
inline std::int64_t number_of(Price value) { return value.micros; }
inline std::int64_t number_of(Shares value) { return value.micros; }
inline std::int64_t number_of(Timestamp value) { return value.ns; }
inline std::int64_t number_of(Date value) { return value.days; }

template <Scalar T>
void set(T& field, std::int64_t value) {
  field = static_cast<T>(value);
}
inline void set(Price& field, std::int64_t value) { field.micros = value; }
inline void set(Shares& field, std::int64_t value) { field.micros = value; }
inline void set(Timestamp& field, std::int64_t value) { field.ns = value; }
inline void set(Date& field, std::int64_t value) { field.days = static_cast<std::int32_t>(value); }

template <typename T>
constexpr char type_of(const T&) {
  return 'i';
}
constexpr char type_of(const double&) { return 'd'; }
template <typename T, std::size_t N>
constexpr char type_of(const std::array<T, N>&) {
  return 'a';
}

constexpr char type_of(const std::vector<std::int64_t>&) { return 'a'; }

template <typename T>
void write(BodyWriter& out, const T& field) {
  out.integer(number_of(field));
}
inline void write(BodyWriter& out, const double& field) { out.real(field); }
template <typename T, std::size_t N>
void write(BodyWriter& out, const std::array<T, N>& fields) {
  out.integer(static_cast<std::int64_t>(N));
  for (const T& field : fields) write(out, field);
}

inline void write(BodyWriter& out, const std::vector<std::int64_t>& numbers) {
  out.integer(static_cast<std::int64_t>(numbers.size()));
  for (const std::int64_t number : numbers) out.integer(number);
}

template <typename T>
void read(BodyReader& in, T& field) {
  const std::int64_t value = in.integer();
  set(field, value);
  if (number_of(field) != value) in.refuse();
}
inline void read(BodyReader& in, double& field) { field = in.real(); }
template <typename T, std::size_t N>
void read(BodyReader& in, std::array<T, N>& fields) {
  const std::int64_t count = in.integer();
  for (std::int64_t i = 0; i < count && in.sound(); ++i) {
    if (i < static_cast<std::int64_t>(N)) read(in, fields[static_cast<std::size_t>(i)]);
    else in.skip('i');
  }
}

inline void read(BodyReader& in, std::vector<std::int64_t>& numbers) {
  constexpr std::int64_t kMost = 4096;
  const std::int64_t count = in.integer();
  if (count < 0 || count > kMost) return in.refuse();
  numbers.clear();
  for (std::int64_t i = 0; i < count && in.sound(); ++i) numbers.push_back(in.integer());
}

}  // namespace state_body

struct LayoutField {
  std::string name;
  char type = 'i';
};
[[nodiscard]] std::vector<LayoutField> fields_of(std::string_view layout);

template <typename Memory>
std::string layout_of() {
  std::string text;
  Memory memory;
  each_field(memory, [&](std::string_view name, const auto& field) {
    text.append(text.empty() ? "" : " ").append(name).append(" ") += state_body::type_of(field);
  });
  return text;
}

template <typename Memory>
std::string body_of(const Memory& memory) {
  std::string bytes;
  BodyWriter out(bytes);
  each_field(memory, [&](std::string_view, const auto& field) { state_body::write(out, field); });
  return bytes;
}

/// Where each field of a body of some layout begins; empty when the body does not fit the layout.
[[nodiscard]] std::optional<std::vector<std::string_view>> places_of(const std::vector<LayoutField>& layout,
                                                                     std::string_view body);

/// False when the bytes are not a body of that layout.
template <typename Memory>
bool read_body(const std::vector<LayoutField>& layout, std::string_view body, Memory& memory) {
  const auto places = places_of(layout, body);
  if (!places) return false;
  bool sound = true;
  std::size_t guess = 0;  // in the usual case the fields come in the order of the layout
  each_field(memory, [&](std::string_view name, auto& field) {
    const auto fits = [&](std::size_t i) {
      return layout[i].name == name && layout[i].type == state_body::type_of(field);
    };
    std::size_t i = guess;
    if (i >= layout.size() || !fits(i)) {
      for (i = 0; i < layout.size() && !fits(i); ++i) {
      }
      if (i == layout.size()) return;
    }
    guess = i + 1;
    BodyReader in((*places)[i]);
    state_body::read(in, field);
    sound = sound && in.sound();
  });
  return sound;
}

}  // namespace brimwatch
