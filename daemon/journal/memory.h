#pragma once
// What a machine's journal knows of before, as far as the other machines of its house may not: handed on at the start, or
// when the journal can be read at last.
#include <vector>

#include "journal/journal.h"

namespace brimwatch {

/// A notice, and what has come of its messages so far.
struct RememberedNotice {
  NoticeRecord record;
  std::vector<DeliveryRow> rows;
};

struct JournalMemory {
  std::vector<OpenDelivery> open;      ///< messages that have not come to their end
  std::vector<WatchState> watches;     ///< where they stood
  std::vector<Answer> answers;         ///< all, in their order
  std::vector<RememberedNotice> told;  ///< of the last two days
};

}  // namespace brimwatch
