#pragma once
// The newest days of each symbol, in brief: the table newest_days, which a start reads in place of the records
// themselves.
#include <cstdint>

#include "core/result.h"
#include "journal/journal.h"
#include "journal/sql.h"

namespace brimwatch {

/// From the records, for each symbol that has one: once, when a journal gets the table. Within a transaction.
Status fill_newest_days(Database& database);
/// A record has been written: its day stands there as it is now, where it is one of the newest.
Status note_newest_day(Database& database, const DayRecord& record);
/// A row whose sum does not fit is read from the records of that symbol, and counted in `damaged`.
Status read_newest_days(Database& database, CarriedDays& all, std::uint64_t& damaged);

}  // namespace brimwatch
