#pragma once
// Between the desk and the book of the day: looks at all stocks once a minute, and makes pictures and JSON of what it
// saw.
#include <string>

#include "desk/day_book.h"
#include "desk/desk.h"
#include "journal/journal.h"

namespace brimwatch {

/// Once a minute of `now` (the engine's time) a point of each stock that trades in a session just now; otherwise nothing.
void look_at_day(const Desk& desk, Timestamp now, DayBook& book);

/// What was just committed: marks of its notices, holes of its feed.
void note_in_day(const Desk& desk, const JournalBatch& batch, DayBook& book);

/// The picture that goes out with a notice: the day up to then. Nothing to draw (a notice about a feed, or no point yet):
/// a picture without a price series.
[[nodiscard]] DayPicture day_picture(const Desk& desk, const DayBook& book, const NoticeRecord& record);

/// The day of one stock for the status page, on one line: session_minutes, open_minute, normal, needed; arrays of equal
/// length minute, price, volume, projected, low, high (null: not judged); usual and holes as pairs; marks. "{}" for a
/// stock that is not watched.
[[nodiscard]] std::string day_json(const Desk& desk, const DayBook& book, std::string_view symbol);

/// The days of all stocks in short, on one line, for the rows of the status page: day, and by symbol minute and price
/// (arrays of equal length, some eighty points), move (mean of what its price changes from one minute to the next; null:
/// too few points) and usual (the share of its normal volume that has come by `now` on a usual day).
[[nodiscard]] std::string days_json(const Desk& desk, const DayBook& book, Timestamp now);

}  // namespace brimwatch
