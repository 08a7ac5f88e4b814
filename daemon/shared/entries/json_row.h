#pragma once
// A record's columns (journal/records.h) and a state's fields (core/state.h) as JSON, by the same lists that the journal
// uses: a row as an array, a state as an object.
#include <cmath>

#include "core/text/json.h"
#include "journal/records.h"
#include "journal/row_io.h"
#include "journal/state_body.h"

namespace brimwatch {

class JsonRowWriter {
 public:
  explicit JsonRowWriter(Json& row) : row_(row) {}
  template <Word T>
  void operator()(const T& value) {
    row_.push_back(std::string(to_string(value)));
  }
  template <std::integral T>
  void operator()(const T& value) {
    row_.push_back(static_cast<std::int64_t>(value));
  }
  void operator()(const double& value) {
    if (std::isfinite(value)) row_.push_back(value);
    else row_.push_back(nullptr);
  }
  void operator()(const std::string& value) { row_.push_back(value); }
  void operator()(const Price& value) { row_.push_back(value.micros); }
  void operator()(const Shares& value) { row_.push_back(value.micros); }
  void operator()(const Timestamp& value) { row_.push_back(value.ns); }
  void operator()(const Date& value) { row_.push_back(value.days); }
  void operator()(const std::chrono::seconds& value) { row_.push_back(value.count()); }
  void operator()(const NoJudgement& value) { row_.push_back(static_cast<int>(value)); }

 private:
  Json& row_;
};

/// Throws nlohmann's exceptions, or std::out_of_range, on a row that does not fit: its caller makes an error of them.
class JsonRowReader {
 public:
  explicit JsonRowReader(const Json& row) : row_(row) {}
  template <Word T>
  void operator()(T& value) {
    const std::string found = next().get<std::string>();
    for (int i = 0; i < words_of(value); ++i) {
      if (to_string(static_cast<T>(i)) != found) continue;
      value = static_cast<T>(i);
      return;
    }
    throw std::out_of_range("an unknown word");
  }
  template <std::integral T>
  void operator()(T& value) {
    const auto found = next().get<std::int64_t>();
    value = static_cast<T>(found);
    if (static_cast<std::int64_t>(value) != found) throw std::out_of_range("a number out of range");
  }
  void operator()(double& value) {
    const Json& found = next();
    value = found.is_null() ? std::numeric_limits<double>::quiet_NaN() : found.get<double>();
  }
  void operator()(std::string& value) { value = next().get<std::string>(); }
  void operator()(Price& value) { value.micros = next().get<std::int64_t>(); }
  void operator()(Shares& value) { value.micros = next().get<std::int64_t>(); }
  void operator()(Timestamp& value) { value.ns = next().get<std::int64_t>(); }
  void operator()(Date& value) { value.days = next().get<std::int32_t>(); }
  void operator()(std::chrono::seconds& value) { value = std::chrono::seconds{next().get<std::int64_t>()}; }
  void operator()(NoJudgement& value) {
    const int found = next().get<int>();
    if (found < 0 || found >= kNoJudgements) throw std::out_of_range("an unknown judgement");
    value = static_cast<NoJudgement>(found);
  }
  void end() const {
    if (at_ != row_.size()) throw std::out_of_range("more columns than are known");
  }

 private:
  static constexpr int words_of(NoticeKind) { return kNoticeKinds; }
  static constexpr int words_of(Side) { return 4; }
  static constexpr int words_of(Weight) { return 4; }
  static constexpr int words_of(Trend) { return 4; }
  static constexpr int words_of(DeliveryState) { return 6; }
  static constexpr int words_of(AnswerKind) { return kAnswerKinds; }

  const Json& next() { return row_.at(at_++); }
  const Json& row_;
  std::size_t at_ = 0;
};

namespace json_state {

template <typename T>
Json json_of(const T& field) {
  return state_body::number_of(field);
}
inline Json json_of(const double& field) { return std::isfinite(field) ? Json(field) : Json(nullptr); }
inline Json json_of(const std::vector<std::int64_t>& field) { return field; }
template <typename T, std::size_t N>
Json json_of(const std::array<T, N>& fields) {
  Json all = Json::array();
  for (const T& one : fields) all.push_back(json_of(one));
  return all;
}

template <typename T>
void take(const Json& found, T& field) {
  state_body::set(field, found.get<std::int64_t>());
}
inline void take(const Json& found, double& field) {
  field = found.is_null() ? std::numeric_limits<double>::quiet_NaN() : found.get<double>();
}
inline void take(const Json& found, std::vector<std::int64_t>& field) { field = found.get<std::vector<std::int64_t>>(); }
/// A longer array is of a newer program, a shorter one of an older: what both know is taken.
template <typename T, std::size_t N>
void take(const Json& found, std::array<T, N>& fields) {
  for (std::size_t i = 0; i < std::min(N, found.size()); ++i) take(found.at(i), fields[i]);
}

template <typename Memory>
Json fields_of(const Memory& memory) {
  Json all = Json::object();
  each_field(memory, [&](std::string_view name, const auto& field) { all[std::string(name)] = json_of(field); });
  return all;
}
/// A field that is not there keeps its first value.
template <typename Memory>
void take_fields(const Json& all, Memory& memory) {
  each_field(memory, [&](std::string_view name, auto& field) {
    const auto found = all.find(std::string(name));
    if (found != all.end()) take(*found, field);
  });
}

}  // namespace json_state
}  // namespace brimwatch
