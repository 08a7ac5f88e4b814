#include "volume/invented_panel.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <random>

#include "volume/projection.h"

namespace brimwatch::test {
namespace {

constexpr int kOpen = 570;  // 09:30 in New York

class Inventor {
 public:
  explicit Inventor(const InventedStock& stock) : stock_(stock), random_(stock.seed) {}

  void add_day(const Session& session, std::vector<BarRow>& rows) {
    constexpr double kRemembered = 0.6, kNewsDays = 0.08;
    level_ = kRemembered * level_ + stock_.level_sd * normal_(random_);
    const double news = even_(random_) < kNewsDays ? 0.4 + 0.8 * even_(random_) : 0;
    const int minutes = static_cast<int>(session.minutes());
    const double day = stock_.volume * std::exp(level_ + news) * (session.half_day ? 0.45 : 1);
    double course = stock_.course_sd * normal_(random_);
    for (int m = 0; m < minutes; ++m) {
      static const double kept = std::exp2(-1.0 / 120);
      course = kept * course + std::sqrt(1 - kept * kept) * stock_.course_sd * normal_(random_);
      const bool last = m + 1 == minutes;
      double volume = day * (1 - stock_.auction) * share(m, minutes) * std::exp(course) * lump();
      if (last) volume += day * stock_.auction * std::exp(0.2 * normal_(random_));
      if (last || even_(random_) < stock_.traded) rows.push_back({session.day.days, kOpen + m, std::round(volume), 0, 0});
    }
  }

 private:
  /// Of continuous trading; the afternoon's form is squeezed on a half day.
  static double share(int minute, int minutes) {
    const Curve& curve = default_curve_without_auction();
    return curve.at((minute + 1) * 390.0 / minutes) - curve.at(minute * 390.0 / minutes);
  }

  double lump() { return std::gamma_distribution<double>(stock_.lumps, 1 / stock_.lumps)(random_); }

  InventedStock stock_;
  std::mt19937 random_;
  std::normal_distribution<double> normal_;
  std::uniform_real_distribution<double> even_;
  double level_ = 0;
};

}  // namespace

std::vector<BarRow> invent_minutes(const InventedStock& stock, const Calendar& calendar) {
  Inventor inventor(stock);
  std::vector<BarRow> rows;
  int days = 0;
  for (const Session& session : calendar.sessions()) {
    if (session.day < Date::of(2015, 1, 2)) continue;
    if (days++ == stock.days) break;
    inventor.add_day(session, rows);
  }
  return rows;
}

std::string as_file(const std::vector<BarRow>& rows) {
  std::string text = "datetime,volume\n";
  for (const BarRow& row : rows) {
    char line[64];
    std::snprintf(line, sizeof line, "%s %02d:%02d,%.0f\n", to_string(Date{row.day}).c_str(), row.minute / 60,
                  row.minute % 60, row.volume);
    text += line;
  }
  return text;
}

}  // namespace brimwatch::test
