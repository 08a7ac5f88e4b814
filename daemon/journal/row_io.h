#pragma once
// Writes and reads the values of a row in one order, with the row's sum behind them. What a record's columns are is said
// once, in records.h, for both directions.
//
// Numbers are kept as whole numbers in the project's own units (millionths, nanoseconds, days), enums as their words,
// arrays as little-endian bytes.
#include <array>
#include <bit>
#include <chrono>
#include <concepts>
#include <limits>
#include <string>
#include <utility>

#include "core/notice.h"
#include "journal/journal.h"
#include "journal/row_sum.h"
#include "journal/sql.h"

namespace brimwatch {

static_assert(std::endian::native == std::endian::little, "arrays are kept as little-endian bytes");

template <typename T>
concept Word = std::same_as<T, NoticeKind> || std::same_as<T, Side> || std::same_as<T, Weight> ||
    std::same_as<T, Trend> || std::same_as<T, DeliveryState> || std::same_as<T, AnswerKind>;

class RowWriter {
 public:
  explicit RowWriter(Statement& statement, int first = 1) : statement_(statement), next_(first) {}

  template <std::integral T>
  void operator()(const T& value) {
    put(static_cast<std::int64_t>(value));
  }
  template <Word T>
  void operator()(const T& value) {
    put(to_string(value));
  }
  template <typename T, std::size_t N>
  void operator()(const std::array<T, N>& values) {
    put_blob({reinterpret_cast<const char*>(values.data()), sizeof(T) * N});
  }
  void operator()(const double& value) { put(value); }
  void operator()(const std::string& value) { put(std::string_view(value)); }
  void operator()(const Price& value) { put(value.micros); }
  void operator()(const Shares& value) { put(value.micros); }
  void operator()(const Timestamp& value) { put(value.ns); }
  void operator()(const Date& value) { put(std::int64_t{value.days}); }
  void operator()(const std::chrono::seconds& value) { put(std::int64_t{value.count()}); }
  void operator()(const NoJudgement& value) { put(static_cast<std::int64_t>(value)); }

  void put(auto value) {
    sum_.add(value);
    statement_.bind(next_++, value);
  }
  void put_blob(std::string_view bytes) {
    sum_.add(bytes);
    statement_.bind_blob(next_++, bytes);
  }
  void end() { statement_.bind(next_++, sum_.value()); }

 private:
  Statement& statement_;
  int next_;
  RowSum sum_;
};

/// Counts the columns of a record, its sum included.
class RowCount {
 public:
  template <typename T>
  void operator()(const T&) {
    ++columns;
  }
  int columns = 1;
};

class RowReader {
 public:
  explicit RowReader(const Statement& statement, int first = 0) : statement_(statement), next_(first) {}

  template <std::integral T>
  void operator()(T& value) {
    const std::int64_t found = get();
    value = static_cast<T>(found);
    if (static_cast<std::int64_t>(value) != found) sound_ = false;
  }
  template <Word T>
  void operator()(T& value) {
    const std::string_view found = get_text();
    for (int i = 0; i < count_of(value); ++i) {
      if (to_string(static_cast<T>(i)) == found) {
        value = static_cast<T>(i);
        return;
      }
    }
    sound_ = false;
  }
  template <typename T, std::size_t N>
  void operator()(std::array<T, N>& values) {
    const std::string_view bytes = get_text();
    if (bytes.size() == sizeof(T) * N) {
      std::memcpy(values.data(), bytes.data(), bytes.size());
    } else {
      sound_ = false;
    }
  }
  void operator()(double& value) {
    value = statement_.is_null(next_) ? std::numeric_limits<double>::quiet_NaN() : statement_.real(next_);
    ++next_;
    sum_.add(value);
  }
  void operator()(std::string& value) { value = get_text(); }
  void operator()(Price& value) { value.micros = get(); }
  void operator()(Shares& value) { value.micros = get(); }
  void operator()(Timestamp& value) { value.ns = get(); }
  void operator()(Date& value) { (*this)(value.days); }
  void operator()(std::chrono::seconds& value) { value = std::chrono::seconds{get()}; }
  void operator()(NoJudgement& value) {
    const std::int64_t found = get();
    if (found < 0 || found >= kNoJudgements) sound_ = false;
    else value = static_cast<NoJudgement>(found);
  }

  std::int64_t get() {
    const std::int64_t value = statement_.integer(next_++);
    sum_.add(value);
    return value;
  }
  std::string_view get_text() {
    const std::string_view value = statement_.text(next_++);
    sum_.add(value);
    return value;
  }
  /// Reads the sum; false when the row is not what was written.
  [[nodiscard]] bool end() { return statement_.integer(next_++) == sum_.value() && sound_; }
  [[nodiscard]] int next() const { return next_; }

 private:
  static constexpr int count_of(NoticeKind) { return kNoticeKinds; }
  static constexpr int count_of(Side) { return 4; }
  static constexpr int count_of(Weight) { return 4; }
  static constexpr int count_of(Trend) { return 4; }
  static constexpr int count_of(DeliveryState) { return 6; }
  static constexpr int count_of(AnswerKind) { return kAnswerKinds; }

  const Statement& statement_;
  int next_;
  bool sound_ = true;
  RowSum sum_;
};

}  // namespace brimwatch
