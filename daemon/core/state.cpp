#include "core/state.h"

namespace brimwatch {
namespace {

struct Pack {
  std::vector<std::int64_t>& out;
  void number(std::int64_t value) { out.push_back(value); }
  void operator()(std::string_view, const Price& value) { number(value.micros); }
  void operator()(std::string_view, const Timestamp& value) { number(value.ns); }
  template <typename T, std::size_t N>
  void operator()(std::string_view name, const std::array<T, N>& values) {
    for (const T& value : values) (*this)(name, value);
  }
  template <typename T>
  void operator()(std::string_view, const T& value) {
    number(static_cast<std::int64_t>(value));
  }
};

struct Unpack {
  const std::int64_t* next;
  void operator()(std::string_view, Price& value) { value.micros = *next++; }
  void operator()(std::string_view, Timestamp& value) { value.ns = *next++; }
  template <typename T, std::size_t N>
  void operator()(std::string_view name, std::array<T, N>& values) {
    for (T& value : values) (*this)(name, value);
  }
  template <typename T>
  void operator()(std::string_view, T& value) {
    value = static_cast<T>(*next++);
  }
};

template <typename Past, typename Visit>
void each_number(Past& past, Visit&& visit) {
  each_field(past.before, visit);
  each_field_of_print({"", "", "", ""}, past.by, visit);
  visit("", past.price_before);
}

std::size_t numbers_of_one() {
  std::vector<std::int64_t> out;
  WatchPast past;
  each_number(past, Pack{out});
  return out.size();
}

}  // namespace

std::vector<std::int64_t> pack(const std::vector<WatchPast>& past) {
  std::vector<std::int64_t> out;
  for (const WatchPast& one : past) each_number(one, Pack{out});
  return out;
}

std::vector<WatchPast> unpack(const std::vector<std::int64_t>& numbers) {
  static const std::size_t kEach = numbers_of_one();
  if (numbers.size() % kEach != 0 || numbers.size() / kEach > kPastMost) return {};
  std::vector<WatchPast> past(numbers.size() / kEach);
  Unpack from{numbers.data()};
  for (WatchPast& one : past) each_number(one, from);
  return past;
}

}  // namespace brimwatch
