#pragma once
// Invented minute bars with a known truth, for tests: days whose level wanders, a course through the day that wanders
// too, lumpy minutes, a closing auction or none. No real stock; nothing fitted to one.
#include <cstdint>
#include <string>
#include <vector>

#include "session/calendar.h"
#include "volume/learning/bars.h"

namespace brimwatch::test {

struct InventedStock {
  std::uint32_t seed = 1;
  int days = 400;           ///< sessions from 2015-01-02 on, half days among them
  double volume = 2e6;      ///< shares of a usual day
  double level_sd = 0.15;   ///< of a day's ln volume, given the day before
  double course_sd = 0.40;  ///< of the pace within the day, in ln; it forgets half in two hours
  double lumps = 4;         ///< shape of a minute's gamma noise: small is lumpy
  double auction = 0.10;    ///< share of the day in the last minute
  double traded = 1;        ///< share of the minutes that have a bar
};

/// Rows by day and minute, as a bar file gives them.
[[nodiscard]] std::vector<BarRow> invent_minutes(const InventedStock& stock, const Calendar& calendar);

/// The same as text: "datetime,volume" with New York time.
[[nodiscard]] std::string as_file(const std::vector<BarRow>& rows);

}  // namespace brimwatch::test
