#pragma once
// The tables of the journal, their versions, and the way from an older version to this one.
#include "core/result.h"
#include "journal/sql.h"

namespace brimwatch {

/// "BrmJ": how the file says whose it is.
constexpr std::int32_t kJournalId = 0x42726d4a;

/// The version this program writes.
[[nodiscard]] int schema_version();

/// Whether the open database is a journal of a version this program knows, or one without any table yet.
Status check_owner(Database& database);

/// Makes the tables in a new database, or brings an older one to this version; one transaction.
Status migrate(Database& database);

}  // namespace brimwatch
