#pragma once
// The day of each watched stock, minute by minute: what pictures are drawn from. Pure and bounded; nothing in it decides
// anything.
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/notice.h"
#include "pictures/picture.h"

namespace brimwatch {

/// What was known at the end of a minute. Plain floats: they are drawn, never compared.
struct DayMinute {
  float minute = 0;                        ///< minutes of trading since the open
  float price = 0;                         ///< last eligible one
  float volume = 0;                        ///< shares so far
  float projected = 0, low = 0, high = 0;  /// of the whole day, with its 80 % interval; 0: not judged
};

class DayBook {
 public:
  /// Points of all stocks together; with more than a thousand stocks only every second minute is kept, and so on.
  static constexpr std::size_t kPointsMost = 500'000;
  static constexpr std::size_t kMinutesMost = 500;  ///< of one stock
  static constexpr std::size_t kMarksMost = 2'000, kHolesMost = 200;

  /// True once a minute (or every second, third ... one with many stocks): then give it a point of each stock. A new day
  /// clears the book.
  bool begins_minute(Date day, std::int64_t minute, std::size_t stocks);

  /// A point behind the others; one that is not later takes the last one's place.
  void add(std::string_view symbol, const DayMinute& point);
  /// A notice of the day, for its mark in the pictures.
  void mark(std::string_view symbol, DayPicture::Mark mark);
  /// The feed was blind between these minutes.
  void hole(double from_minute, double to_minute);

  [[nodiscard]] const std::vector<DayMinute>& minutes(std::string_view symbol) const;
  [[nodiscard]] std::vector<DayPicture::Mark> marks(std::string_view symbol) const;
  [[nodiscard]] const std::vector<std::pair<double, double>>& holes() const { return holes_; }
  [[nodiscard]] Date day() const { return day_; }

 private:
  Date day_;
  std::int64_t last_minute_ = -1;
  std::map<std::string, std::vector<DayMinute>, std::less<>> minutes_;
  std::vector<std::pair<std::string, DayPicture::Mark>> marks_;
  std::vector<std::pair<double, double>> holes_;
};

}  // namespace brimwatch
