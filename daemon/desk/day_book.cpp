#include "desk/day_book.h"

#include <algorithm>

namespace brimwatch {

bool DayBook::begins_minute(Date day, std::int64_t minute, std::size_t stocks) {
  if (day != day_) {
    day_ = day;
    last_minute_ = -1;
    minutes_.clear();
    marks_.clear();
    holes_.clear();
  }
  const auto step = static_cast<std::int64_t>(stocks * kMinutesMost / kPointsMost + 1);
  if (minute == last_minute_ || (last_minute_ >= 0 && minute - last_minute_ < step)) return false;
  last_minute_ = minute;
  return true;
}

void DayBook::add(std::string_view symbol, const DayMinute& point) {
  auto found = minutes_.find(symbol);
  if (found == minutes_.end()) found = minutes_.emplace(symbol, std::vector<DayMinute>()).first;
  std::vector<DayMinute>& points = found->second;
  if (!points.empty() && point.minute <= points.back().minute) {
    points.back() = point;
    return;
  }
  if (points.size() < kMinutesMost) points.push_back(point);
}

void DayBook::mark(std::string_view symbol, DayPicture::Mark mark) {
  if (marks_.size() < kMarksMost) marks_.emplace_back(symbol, std::move(mark));
}

void DayBook::hole(double from_minute, double to_minute) {
  if (to_minute > from_minute && holes_.size() < kHolesMost) holes_.emplace_back(from_minute, to_minute);
}

const std::vector<DayMinute>& DayBook::minutes(std::string_view symbol) const {
  static const std::vector<DayMinute> kNone;
  const auto found = minutes_.find(symbol);
  return found == minutes_.end() ? kNone : found->second;
}

std::vector<DayPicture::Mark> DayBook::marks(std::string_view symbol) const {
  std::vector<DayPicture::Mark> out;
  for (const auto& [of, mark] : marks_)
    if (of == symbol) out.push_back(mark);
  return out;
}

}  // namespace brimwatch
