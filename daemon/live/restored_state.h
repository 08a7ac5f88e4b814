#pragma once
// What the journal holds from before this start: read once, before the first tick.
#include <map>
#include <string>
#include <tuple>
#include <vector>

#include "core/delivery.h"
#include "core/result.h"
#include "core/state.h"
#include "journal/memory.h"
#include "volume/learning/learning.h"

namespace brimwatch {

/// How often something was said of the program itself or of a feed: by day, name and kind.
using OwnCounts = std::map<std::tuple<int, std::string, NoticeKind>, int>;

struct RestoredState {
  std::vector<WatchState> watches;
  std::vector<SymbolState> symbols;
  std::vector<OpenDelivery> open;
  std::map<std::string, std::vector<FeedDay>, std::less<>> days;  ///< the newest thirty of each symbol before today
  std::vector<Answer> answers;                                    ///< all, in their order
  OwnCounts counts;                                               ///< of that day and the ones beside it
  std::vector<RememberedNotice> told;                             ///< of that day and the one before, where asked for
};

/// `today`: the exchange's date now. `with_told`: for other machines.
[[nodiscard]] Result<RestoredState> read_kept(Journal& journal, Date today, bool with_told = false);

}  // namespace brimwatch
