#pragma once
// Where the engine keeps symbols and watches: flat arrays, one cache line of hot state a symbol, the watches of a symbol
// side by side in the order of their pivots. Everything is sized when a list is put in force; nothing grows on a tick.
//
// A new list comes in two steps: lay_out() does what takes long, on any thread; put_in_force() joins the result with what
// the watches remember.
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "core/large_pages.h"
#include "core/state.h"
#include "core/symbols.h"
#include "core/watch_list.h"
#include "engine/sides.h"
#include "engine/trigger_heap.h"
#include "volume/projection.h"

namespace brimwatch {

/// What a tick looks at first. A price strictly between `down` and `up` changes no watch.
struct alignas(64) SymbolHot {
  std::int64_t up = kNever;            ///< nearest price at or above which a watch changes
  std::int64_t down = -kNever;         ///< nearest price at or below which one does
  Price last;                          ///< last eligible price of the day; 0: none yet
  Timestamp newest;                    ///< time of the newest trade of the day
  std::uint32_t first = 0, count = 0;  ///< its watches; count 0: nobody watches it
  std::uint32_t bad_print = 0;         ///< millionths of a percent; 0: no guard
  std::uint32_t waiting = 0;           ///< watches that wait for the volume to arrive or to fade
  Date day;
  std::uint8_t clock = 0;
  Tape tape = Tape::cts;
  char listing = 0;
  char last_exchange = 0;
  bool is_stale = false;             ///< plans and triggers are of another list, or of before a restart
  bool holding = false;              ///< the print guard holds a price
  bool has_halts = false;            ///< there was a halt today, or there is one
  bool dirty = false;                ///< in the list of changed symbols
  bool trusts_auctions = true;       ///< their prints pass the print guard
  std::uint8_t feed = kFeedUnknown;  ///< that the newest trade came from
};
static_assert(sizeof(SymbolHot) == 64);

/// The rest of a symbol. `memory` is what survives; its fields that SymbolHot has too are stale there. What a trade
/// writes stands in the first cache line, the ids of the last trades in the second.
struct alignas(64) SymbolCold {
  SymbolMemory memory;
  std::uint32_t first_group = 0, group_count = 0;  ///< judgement groups
  Price guard_least;                               ///< a price that is no further off is never a bad print: two ticks
  Timestamp absent_from, absent_to;                ///< it was not on the list meanwhile, and the day does not know it yet
};
static_assert(offsetof(SymbolMemory, recent_trades) == 64);
static_assert(offsetof(SymbolMemory, prints) == 128);

/// Watches of one symbol that are judged alike, but for what a fresh crossing adds: same plan, same wanted surge, same
/// odds.
struct JudgeGroup {
  DayPlan plan;
  std::uint32_t rules = 0;  ///< index into Book::rules
  std::uint32_t watch = 0;  ///< list index of its first watch: the one that the plan is asked for
  std::uint32_t await_heavy = 0, await_light = 0;
  double crossed_until = -1;  ///< up to this minute of trading its watches are judged one by one: a crossing lifts them
  Weight now = Weight::unknown;  ///< scratch of one judgement
};

struct WatchSlot {
  WatchMemory memory;
  Price pivot;
  Price pivot_now;               ///< the same; of a holding, in the terms of the splits since it was bought
  std::uint32_t list_index = 0;  ///< in the list in force
  std::uint32_t rules = 0;       ///< index into Book::rules
  std::uint32_t group = 0;       ///< index into Book::groups
  SymbolId symbol = kNoSymbol;
  Date from, until;               ///< both included
  std::uint32_t newest_past = 0;  ///< number of its newest change in PastStands
  bool dirty = false;
  bool confirming = false;  ///< in the list of those whose confirmation the clock may end

  [[nodiscard]] bool is_active(Date day) const {
    return memory.is_held() || (day >= from && day <= until);  // what is held is watched until it is sold
  }
};

struct Book {
  LongVector<SymbolHot> hot;                ///< by SymbolId
  LongVector<SymbolCold> cold;              ///< by SymbolId
  LongVector<DayVolume> volume;             ///< by SymbolId
  LongVector<WatchSlot> slots;              ///< symbol by symbol, then by pivot, then by list index
  LongVector<TriggerHeap::Entry> up, down;  ///< parallel to slots, a heap a symbol
  LongVector<std::uint32_t> up_place, down_place;
  LongVector<JudgeGroup> groups;      ///< a symbol's side by side
  std::vector<Rules> rules;           ///< distinct ones
  LongVector<std::uint32_t> slot_of;  ///< list index -> slot

  [[nodiscard]] TriggerHeap up_heap(const SymbolHot& s) {
    return {std::span(up).subspan(s.first, s.count), std::span(up_place).subspan(s.first, s.count)};
  }
  [[nodiscard]] TriggerHeap down_heap(const SymbolHot& s) {
    return {std::span(down).subspan(s.first, s.count), std::span(down_place).subspan(s.first, s.count)};
  }
  [[nodiscard]] std::span<WatchSlot> watches(const SymbolHot& s) { return std::span(slots).subspan(s.first, s.count); }
  [[nodiscard]] std::span<const WatchSlot> watches(const SymbolHot& s) const {
    return std::span(slots).subspan(s.first, s.count);
  }
  [[nodiscard]] Levels levels(const WatchSlot& slot) const {
    Levels levels = levels_of(slot.pivot_now, rules[slot.rules]);
    if (slot.memory.bought.is_set()) [[unlikely]]
      hold_at(levels, slot.memory.bought, rules[slot.rules]);
    return levels;
  }
};

/// A list laid out, with nothing remembered yet and symbols by their number in the list.
struct BookDraft {
  struct Symbol {
    std::uint32_t first = 0, count = 0, first_group = 0, group_count = 0, bad_print = 0;
    Price tick;                   ///< the widest at its pivots; for the print guard no finer than a cent
    bool trusts_auctions = true;  ///< all of its watches do
    std::uint32_t leader = 0;     ///< list index of the watch whose tape, listing and calendar count
    Tape tape = Tape::cts;
    char listing = 0;
  };
  std::vector<Symbol> symbols;  ///< by WatchList::symbol_number
  Book book;                    ///< without hot, cold and volume
};

[[nodiscard]] BookDraft lay_out(const WatchList& watches);

/// Puts the draft in the place of what `book` has. Memories of watches and symbols that stay are carried over, plans are
/// not. `ids` and `clocks`: by the number of the symbol in the list.
void put_in_force(BookDraft&& draft, std::span<const SymbolId> ids, std::span<const std::uint8_t> clocks, Book& book);

}  // namespace brimwatch
