#include "journal/state_body.h"

namespace brimwatch {

std::int64_t BodyReader::integer() {
  std::uint64_t zigzag = 0;
  for (int shift = 0; shift <= 63; shift += 7) {
    if (rest_.empty()) break;
    const auto byte = static_cast<unsigned char>(rest_.front());
    rest_.remove_prefix(1);
    zigzag |= static_cast<std::uint64_t>(byte & 0x7f) << shift;
    if (byte < 0x80) return static_cast<std::int64_t>(zigzag >> 1) ^ -static_cast<std::int64_t>(zigzag & 1);
  }
  sound_ = false;
  return 0;
}

double BodyReader::real() {
  double value = 0;
  if (rest_.size() < sizeof value) {
    sound_ = false;
    return 0;
  }
  std::memcpy(&value, rest_.data(), sizeof value);
  rest_.remove_prefix(sizeof value);
  return value;
}

void BodyReader::skip(char type) {
  if (type == 'd') {
    real();
    return;
  }
  const std::int64_t count = integer();
  if (type != 'a') return;
  for (std::int64_t i = 0; i < count && sound_; ++i) integer();
}

std::vector<LayoutField> fields_of(std::string_view layout) {
  std::vector<LayoutField> fields;
  while (!layout.empty()) {
    const auto blank = layout.find(' ');
    if (blank == std::string_view::npos || blank + 1 >= layout.size()) break;
    fields.push_back({std::string(layout.substr(0, blank)), layout[blank + 1]});
    layout.remove_prefix(std::min(layout.size(), blank + 3));
  }
  return fields;
}

std::optional<std::vector<std::string_view>> places_of(const std::vector<LayoutField>& layout, std::string_view body) {
  std::vector<std::string_view> places;
  places.reserve(layout.size());
  BodyReader in(body);
  for (const LayoutField& field : layout) {
    places.push_back(in.rest());
    in.skip(field.type);
  }
  if (!in.sound() || !in.rest().empty()) return std::nullopt;
  return places;
}

}  // namespace brimwatch
