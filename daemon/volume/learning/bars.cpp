#include "volume/learning/bars.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <span>

#include "volume/learning/learning.h"
#include "volume/projection.h"

namespace brimwatch {
namespace {

constexpr int kUsualOpen = 9 * 60 + 30;
constexpr double kUsualMinutes = 390;
constexpr int kGapMinutes = 15;
constexpr std::size_t kDaysBefore = 20;  ///< that a day is compared with

/// The rows of the days that tell what the bars are.
std::span<const BarRow> telling_rows(std::span<const BarRow> rows) {
  std::size_t days = 0, end = 0;
  for (; end < rows.size(); ++end) {
    days += end == 0 || rows[end].day != rows[end - 1].day;
    if (days > kTellingDays) break;
  }
  return rows.first(end);
}

double middle_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

int bar_length(std::span<const BarRow> rows) {
  std::map<int, int> counts;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    if (rows[i].day == rows[i - 1].day && rows[i].minute > rows[i - 1].minute)
      ++counts[rows[i].minute - rows[i - 1].minute];
  }
  int best = 1, most = 0;
  for (const auto& [length, count] : counts) {
    if (count > most) best = length, most = count;
  }
  return best;
}

/// Where bars start, modulo their length: hours may be cut at :00 or at :30.
int bar_phase(std::span<const BarRow> rows, int bar) {
  std::vector<std::size_t> counts(static_cast<std::size_t>(bar));
  for (const BarRow& row : rows) ++counts[static_cast<std::size_t>(((row.minute % bar) + bar) % bar)];
  return static_cast<int>(std::max_element(counts.begin(), counts.end()) - counts.begin());
}

/// One day's hours, in minutes of the local day.
struct Hours {
  int open = kUsualOpen;
  double minutes = kUsualMinutes;
  int break_from = 0, break_to = 0;  ///< since the open
  bool closed = false, half_day = false, expiry = false, month_end = false, by_calendar = false;

  [[nodiscard]] int break_minutes() const { return break_to - break_from; }
  [[nodiscard]] int close() const { return open + static_cast<int>(minutes) + break_minutes(); }
};

int local_minute(Timestamp time, const Calendar& calendar) {
  const Nanos local = time.ns + calendar.offset(time).count() * kSecond;
  return static_cast<int>(((local % kDayNanos) + kDayNanos) % kDayNanos / kMinute);
}

Hours hours_of(std::int32_t day, const Calendar& calendar) {
  Hours hours;
  const auto& sessions = calendar.sessions();
  if (day >= kLabelDay || sessions.empty() || Date{day} < sessions.front().day || Date{day} > sessions.back().day)
    return hours;
  const Session* session = calendar.on(Date{day});
  if (session == nullptr) return hours.closed = true, hours;
  hours.by_calendar = true;
  hours.open = local_minute(session->open, calendar);
  hours.minutes = session->minutes();
  hours.half_day = session->half_day;
  hours.expiry = session->expiry;
  const Session* next = calendar.at_or_after(session->close);
  hours.month_end = next != nullptr && next->day > session->day && next->day.ymd().month() != session->day.ymd().month();
  if (session->break_start.is_set()) {
    hours.break_from = static_cast<int>((session->break_start - session->open) / kMinute);
    hours.break_to = static_cast<int>((session->break_end - session->open) / kMinute);
  }
  return hours;
}

enum class Half : std::uint8_t {
  own,        ///< a bar by itself
  morning,    ///< of the break: it holds what was traded as the morning ended, its auction
  afternoon,  ///< of the break: it begins in the break, and holds what was traded as the afternoon began
  none,       ///< within the break, when nothing is traded
};

/// Where a bar begins, in minutes of trading since the open, and to which half of the day it belongs.
struct Spot {
  int minute = 0;
  Half half = Half::own;
};

/// A bar that starts where the break does holds the prints of the morning's auction, which come in the seconds after; one
/// that is stamped by its end and ends with the break holds prints of the afternoon's opening to the second.
Spot spot_in_break(int minute, const Hours& hours, int bar, bool stamped_end) {
  const int end = minute + bar;
  if (end > hours.break_to) return {hours.break_from, Half::afternoon};
  if (minute == hours.break_from) return {hours.break_from, Half::morning};
  return {hours.break_from, end == hours.break_to && stamped_end ? Half::afternoon : Half::none};
}

/// A bar that begins before the open and ends after it starts at 0.
Spot spot_of(const BarRow& row, const Hours& hours, int bar, bool stamped_end) {
  int minute = row.minute - hours.open;
  if (minute < 0 && minute + bar > 0) minute = 0;
  if (minute >= hours.break_to && hours.break_minutes() > 0) return {minute - hours.break_minutes(), Half::own};
  if (minute >= hours.break_from && hours.break_minutes() > 0) return spot_in_break(minute, hours, bar, stamped_end);
  return {minute, Half::own};
}

class Assembler {
 public:
  Assembler(std::string symbol, const BarReading& reading, const Calendar& calendar)
      : reading_(reading), calendar_(calendar) {
    series_.symbol = std::move(symbol);
  }

  BarSeries assemble(std::vector<BarRow> rows) {
    const auto before = [](const BarRow& a, const BarRow& b) {
      return a.day != b.day ? a.day < b.day : a.minute < b.minute;
    };
    if (!std::is_sorted(rows.begin(), rows.end(), before)) std::stable_sort(rows.begin(), rows.end(), before);
    const std::span<const BarRow> telling = telling_rows(rows);
    series_.bar_minutes = reading_.bar_minutes > 0 ? reading_.bar_minutes : bar_length(telling);
    if (reading_.stamped_end) {
      for (BarRow& row : rows) row.minute -= series_.bar_minutes;
    }
    series_.counts.rows = rows.size();
    phase_ = bar_phase(telling, series_.bar_minutes);
    const bool guess = !reading_.stamped_end && reading_.guess_stamp;
    series_.counts.opens_late = guess && opens_late(telling);
    if (guess && (series_.counts.opens_late || stamped_by_ends(telling))) {
      for (BarRow& row : rows) row.minute -= series_.bar_minutes;
      series_.counts.took_end_stamped = true;
    }
    for (std::size_t from = 0, to = 0; from < rows.size(); from = to) {
      while (to < rows.size() && rows[to].day == rows[from].day) ++to;
      take_day(rows.data() + from, rows.data() + to);
    }
    finish();
    return std::move(series_);
  }

 private:
  void take_day(const BarRow* row, const BarRow* end) {
    const Hours hours = hours_of(row->day, calendar_);
    const int bar = series_.bar_minutes;
    if (hours.closed) {
      series_.counts.closed_days += 1;
      series_.counts.outside_session += static_cast<std::uint64_t>(end - row);
      return;
    }
    series_.first_end = bar - (((hours.open - phase_) % bar) + bar) % bar;
    SessionBars day;
    day.day = row->day;
    day.session_minutes = hours.minutes;
    day.half_day = hours.half_day;
    day.expiry = hours.expiry;
    day.month_end = hours.month_end;
    float at_close = 0;
    bool missing = false;
    taken_minute_ = std::numeric_limits<std::int32_t>::min();
    for (; row != end; ++row) take_row(*row, hours, day, at_close, missing);
    if (day.bars.empty()) return;
    if (!hours.by_calendar) guess_half_day(day);
    closing_.push_back(at_close);
    series_.days.push_back(std::move(day));
    holes_.push_back(missing);
  }

  /// Plainly so: bars of regular hours only, none that starts at the open, nearly every day one at the close.
  [[nodiscard]] bool stamped_by_ends(std::span<const BarRow> rows) const {
    const int bar = series_.bar_minutes;
    std::size_t days = 0, starts = 0, ends = 0;
    for (std::size_t from = 0, to = 0; from < rows.size(); from = to) {
      while (to < rows.size() && rows[to].day == rows[from].day) ++to;
      const Hours hours = hours_of(rows[from].day, calendar_);
      if (hours.closed) continue;
      const int first_end = hours.open + bar - (((hours.open - phase_) % bar) + bar) % bar;
      ++days;
      starts += rows[from].minute < first_end;
      ends += rows[from].minute == first_end && rows[to - 1].minute == hours.close();
    }
    return days > 0 && starts == 0 && ends * 10 >= days * 9;
  }

  /// Where bars before the open are in too, its volume tells the stamps: many times that of the minutes before, in the
  /// bar that is stamped with the open, or one bar later where stamps are ends.
  [[nodiscard]] bool opens_late(std::span<const BarRow> rows) const {
    constexpr std::size_t kFewest = 3;  // days
    constexpr int kLongest = 30;        // minutes; longer bars mix too much
    const double kManyTimes = std::log(3.0);
    const int bar = series_.bar_minutes;
    std::vector<double> early, late;
    for (std::size_t from = 0, to = 0; bar <= kLongest && from < rows.size(); from = to) {
      while (to < rows.size() && rows[to].day == rows[from].day) ++to;
      const Hours hours = hours_of(rows[from].day, calendar_);
      const double before = volume_at(rows, from, to, hours.open - bar), at = volume_at(rows, from, to, hours.open),
                   after = volume_at(rows, from, to, hours.open + bar);
      if (hours.closed || !(before > 0) || !(at > 0) || !(after > 0)) continue;
      early.push_back(std::log(at / before));
      late.push_back(std::log(after / at));
    }
    return late.size() >= kFewest && middle_of(late) > kManyTimes && middle_of(late) > middle_of(early);
  }

  /// Of the bar with that stamp among the rows of one day; 0 where there is none.
  static double volume_at(std::span<const BarRow> rows, std::size_t from, std::size_t to, int minute) {
    for (; from < to; ++from) {
      if (rows[from].minute == minute) return std::isnan(rows[from].volume) ? 0 : rows[from].volume;
    }
    return 0;
  }

  void take_row(const BarRow& row, const Hours& hours, SessionBars& day, float& at_close, bool& missing) {
    const bool stamped_end = reading_.stamped_end || series_.counts.took_end_stamped;
    const Spot spot = spot_of(row, hours, series_.bar_minutes, stamped_end);
    const bool inside = spot.minute >= 0 && spot.minute < hours.minutes && spot.half != Half::none;
    const bool closing = !inside && series_.bar_minutes <= 5 && spot.minute >= hours.minutes &&
                         spot.minute < hours.minutes + series_.bar_minutes;
    if (!inside && !closing) return leave_out(row, spot);
    if (std::isnan(row.volume)) {
      missing = missing || (inside && spot.half != Half::morning);
      return void(++series_.counts.without_volume);
    }
    if (row.minute == taken_minute_) return void(++series_.counts.repeated);
    if (closing) at_close += static_cast<float>(row.volume);
    else if (!add_bar(row, spot, hours, day)) return void(++series_.counts.repeated);
    taken_minute_ = row.minute;
  }

  void leave_out(const BarRow& row, const Spot& spot) {
    ++series_.counts.outside_session;
    if (spot.half != Half::none || !(row.volume > 0)) return;
    ++series_.counts.in_break;
    series_.counts.in_break_shares += row.volume;
  }

  /// Whether a row belongs to the bar before it: beside a break one bar may come in two rows.
  [[nodiscard]] bool joins_last(const Spot& spot, const Hours& hours, const SessionBars& day) const {
    if (day.bars.empty()) return false;
    const int last = day.bars.back().minute, end = series_.end_of(last);
    if (spot.half == Half::morning) return end >= hours.break_from;
    if (spot.half == Half::afternoon) return end > hours.break_from;
    return last == spot.minute && hours.break_minutes() > 0 && last == hours.break_from;
  }

  /// False when the bar is there already.
  bool add_bar(const BarRow& row, const Spot& spot, const Hours& hours, SessionBars& day) {
    const auto volume = static_cast<float>(row.volume);
    const int minute = spot.half == Half::morning ? std::max(0, hours.break_from - 1) : spot.minute;
    const float high = std::max({row.open, row.high, row.close});
    if (joins_last(spot, hours, day)) day.bars.back().volume += volume;
    else if (!day.bars.empty() && day.bars.back().minute == minute) return false;
    else day.bars.push_back({minute, volume, 0});
    day.bars.back().high = std::max(day.bars.back().high, high);
    day.high = std::max(day.high, high);
    series_.counts.beside_break += spot.half != Half::own && volume > 0;
    day.total += row.volume;
    if (day.open == 0) day.open = row.open > 0 ? row.open : row.close;
    if (row.close > 0) day.close = row.close;
    return true;
  }

  void guess_half_day(SessionBars& day) {
    int last = 0;
    for (const BarVolume& bar : day.bars) {
      if (bar.volume > 0) last = bar.minute + series_.bar_minutes;
    }
    if (last > kUsualMinutes * 0.75) return;
    day.half_day = true;
    day.session_minutes = std::max(last, series_.bar_minutes);
    std::erase_if(day.bars, [last](const BarVolume& bar) { return bar.minute >= last; });
  }

  /// The number of bars that the days before it have tells a gap from a stock that does not trade in every bar.
  void finish() {
    const std::vector<bool> dense = dense_days();
    for (std::size_t i = 0; i < series_.days.size(); ++i) {
      SessionBars& day = series_.days[i];
      if (dense[i] || holes_[i]) measure_coverage(day);
      series_.counts.half_days += day.half_day;
      series_.counts.short_days += !day.half_day && day.coverage < kLeastCoverage;
    }
    look_at_stamps();
    take_closing_bars();
  }

  [[nodiscard]] std::vector<bool> dense_days() const {
    const double part = series_.bar_minutes < kGapMinutes ? 0.7 : 0.9;
    const double least = part * std::ceil(kUsualMinutes / std::max(1, series_.bar_minutes));
    std::vector<double> sizes;
    std::vector<std::size_t> place;
    for (const SessionBars& day : series_.days) {
      place.push_back(sizes.size());
      if (!day.half_day) sizes.push_back(static_cast<double>(day.bars.size()));
    }
    std::vector<bool> dense;
    for (const std::size_t at : place) {
      const auto near = up_to(sizes, at + 1, kDaysBefore);
      dense.push_back(!near.empty() && middle_of({near.begin(), near.end()}) >= least);
    }
    return dense;
  }

  /// The last `most` values before `end`; at the start, where there are not so many, the first `most` of all.
  static std::span<const double> up_to(std::span<const double> values, std::size_t end, std::size_t most) {
    const std::size_t to = std::min(values.size(), std::max(end, most)), from = to > most ? to - most : 0;
    return values.subspan(from, to - from);
  }

  /// What is missing, by the usual share of its minutes. A few minutes without a bar are minutes without a trade, unless
  /// they are those at the open or the close, where much is traded.
  void measure_coverage(SessionBars& day) const {
    constexpr double kLeastShare = 0.02;
    const double stretch = 390 / day.session_minutes;
    double missed = 0, end = 0;
    const auto gap_to = [&](double start) {
      const double share = default_curve().at(start * stretch) - default_curve().at(end * stretch);
      if (start - end >= kGapMinutes || share >= kLeastShare) missed += share;
    };
    for (const BarVolume& bar : day.bars) {
      if (bar.minute > end) gap_to(bar.minute);
      end = std::min<double>(series_.end_of(bar.minute), day.session_minutes);
    }
    if (end < day.session_minutes) gap_to(day.session_minutes);
    day.coverage = 1 - missed;
  }

  void look_at_stamps() {
    std::size_t late_starts = 0, full = 0;
    for (std::size_t i = 0; i < series_.days.size(); ++i) {
      if (series_.days[i].half_day) continue;
      ++full;
      late_starts += series_.days[i].bars.front().minute == series_.bar_minutes && closing_[i] > 0;
    }
    series_.counts.looks_end_stamped = full > 0 && late_starts * 2 > full;
  }

  /// Minute bars put the closing auction, printed seconds after the close, into a bar that starts at the close. It is
  /// taken in where it is plainly that: a few percent of the day on most of the days before.
  void take_closing_bars() {
    constexpr double kLeastAuction = 0.03;
    const std::vector<double> shares = closing_shares();
    for (std::size_t i = 0; i < series_.days.size(); ++i) {
      const auto before = up_to(shares, i, kDaysBefore);
      if (closing_[i] <= 0 || middle_of({before.begin(), before.end()}) < kLeastAuction) continue;
      series_.counts.closing_bar = true;
      add_closing_bar(series_.days[i], closing_[i]);
    }
  }

  [[nodiscard]] std::vector<double> closing_shares() const {
    std::vector<double> shares;
    for (std::size_t i = 0; i < series_.days.size(); ++i) {
      const double whole = series_.days[i].total + closing_[i];
      shares.push_back(whole > 0 ? closing_[i] / whole : 0);
    }
    return shares;
  }

  void add_closing_bar(SessionBars& day, float volume) const {
    const int last = static_cast<int>(day.session_minutes) - 1;
    if (day.bars.back().minute + series_.bar_minutes > last) day.bars.back().volume += volume;
    else day.bars.push_back({last, volume, 0});
    day.total += volume;
  }

  BarReading reading_;
  const Calendar& calendar_;
  BarSeries series_;
  int phase_ = 0;
  std::int32_t taken_minute_ = 0;  ///< of the day's last row that was counted, as stamped
  std::vector<float> closing_;
  std::vector<bool> holes_;
};

}  // namespace

bool BarSeries::knows(double minute) const {
  const double past = minute - first_end;
  return bar_minutes > 0 && past >= 0 && std::fmod(past, bar_minutes) == 0;
}

std::string break_remark(const BarCounts& counts) {
  if (counts.in_break == 0) return {};
  return std::to_string(counts.in_break) + (counts.in_break == 1 ? " bar" : " bars") + " with " +
         std::to_string(std::llround(counts.in_break_shares)) +
         " shares within the lunch break, when nothing is traded; left out";
}

BarSeries assemble_bars(std::string symbol, std::vector<BarRow> rows, const BarReading& reading,
                        const Calendar& calendar) {
  return Assembler(std::move(symbol), reading, calendar).assemble(std::move(rows));
}

}  // namespace brimwatch
