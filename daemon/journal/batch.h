#pragma once
// Putting batches together while they wait for the disk.
#include <cstddef>

#include "journal/journal.h"

namespace brimwatch {

[[nodiscard]] std::size_t rows_of(const JournalBatch& batch);

/// Appends `from` to `to`; both must belong to the same day.
void append(JournalBatch& to, JournalBatch&& from);

/// Keeps the last of each state and delivery: what a commit of all would leave. Notices, days and holes stay.
void coalesce(JournalBatch& batch);

}  // namespace brimwatch
