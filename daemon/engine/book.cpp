#include "engine/book.h"

#include <algorithm>
#include <limits>
#include <utility>

namespace brimwatch {
namespace {

constexpr Date kFirstDay{std::numeric_limits<std::int32_t>::min()};
constexpr Date kLastDay{std::numeric_limits<std::int32_t>::max()};

/// What trades under a unit of money still has its bid and its ask some hundredths apart, however fine its ticks are.
Price guard_tick(const Rules& rules, Price pivot) {
  constexpr Price kCent{10'000};
  return rules.tick_size.is_set() ? rules.tick_size : std::max(tick_at(rules, pivot), kCent);
}

class Builder {
 public:
  explicit Builder(const WatchList& watches) : watches_(watches) {}

  BookDraft run() {
    order();
    const std::size_t count = watches_.size();
    book_.slots.resize(count);
    book_.slot_of.resize(count);
    book_.up.resize(count);
    book_.down.resize(count);
    book_.up_place.resize(count);
    book_.down_place.resize(count);
    out_.symbols.resize(watches_.symbols().size());
    for (std::size_t begin = 0; begin < sorted_.size();) begin = place_symbol(begin);
    return std::move(out_);
  }

 private:
  struct Key {
    Price pivot;
    std::uint32_t symbol, index;
  };

  void order() {
    sorted_.reserve(watches_.size());
    for (std::uint32_t i = 0; i < watches_.size(); ++i)
      sorted_.push_back({watches_.pivot(i), watches_.symbol_number(i), i});
    std::sort(sorted_.begin(), sorted_.end(), [](const Key& a, const Key& b) {
      if (a.symbol != b.symbol) return a.symbol < b.symbol;
      return a.pivot != b.pivot ? a.pivot < b.pivot : a.index < b.index;
    });
  }

  std::size_t place_symbol(std::size_t begin) {
    std::size_t end = begin;
    while (end < sorted_.size() && sorted_[end].symbol == sorted_[begin].symbol) ++end;
    BookDraft::Symbol& symbol = out_.symbols[sorted_[begin].symbol];
    const Watch leader = watches_[sorted_[begin].index];
    symbol.leader = sorted_[begin].index;
    symbol.tape = leader.tape;
    symbol.listing = leader.listing;
    symbol.first = static_cast<std::uint32_t>(begin);
    symbol.count = static_cast<std::uint32_t>(end - begin);
    symbol.first_group = static_cast<std::uint32_t>(book_.groups.size());
    for (std::size_t at = begin; at < end; ++at) place_watch(at, symbol);
    symbol.group_count = static_cast<std::uint32_t>(book_.groups.size()) - symbol.first_group;
    return end;
  }

  void place_watch(std::size_t at, BookDraft::Symbol& symbol) {
    const std::uint32_t index = sorted_[at].index;
    const auto [from, until] = watches_.days(index);
    WatchSlot& slot = book_.slots[at];
    slot.pivot = sorted_[at].pivot;
    slot.list_index = index;
    slot.rules = rules_index(index);
    slot.group = group_index(symbol.first_group, slot.rules, index);
    slot.from = from.value_or(kFirstDay);
    slot.until = until.value_or(kLastDay);
    const auto guard = static_cast<std::uint32_t>(std::max(watches_.rules(index).bad_print, 0));
    symbol.tick = std::max(symbol.tick, guard_tick(watches_.rules(index), slot.pivot));
    symbol.trusts_auctions = symbol.trusts_auctions && watches_.rules(index).trust_auctions;
    if (guard > 0) symbol.bad_print = symbol.bad_print == 0 ? guard : std::min(symbol.bad_print, guard);
    book_.slot_of[index] = static_cast<std::uint32_t>(at);
  }

  /// The list has told the different ones apart already.
  std::uint32_t rules_index(std::uint32_t index) {
    const std::uint32_t terms = watches_.terms_number(index);
    if (terms >= rules_of_terms_.size()) rules_of_terms_.resize(terms + 1, kNotYet);
    std::uint32_t& at = rules_of_terms_[terms];
    if (at == kNotYet) {
      at = static_cast<std::uint32_t>(book_.rules.size());
      book_.rules.push_back(watches_.rules(index));
    }
    return at;
  }

  /// Groups are told apart by what enters a judgement.
  [[nodiscard]] bool judged_alike(std::uint32_t a, std::uint32_t b) const {
    if (watches_.normal_volume(a) != watches_.normal_volume(b)) return false;
    const Rules &x = watches_.rules(a), &y = watches_.rules(b);
    return x.surge == y.surge && x.odds_heavy == y.odds_heavy && x.odds_light == y.odds_light;
  }

  std::uint32_t group_index(std::uint32_t first, std::uint32_t rules, std::uint32_t index) {
    for (std::uint32_t g = static_cast<std::uint32_t>(book_.groups.size()); g-- > first;) {
      if (judged_alike(book_.groups[g].watch, index)) return g;
    }
    JudgeGroup group;
    group.rules = rules;
    group.watch = index;
    book_.groups.push_back(group);
    return static_cast<std::uint32_t>(book_.groups.size() - 1);
  }

  static constexpr std::uint32_t kNotYet = std::numeric_limits<std::uint32_t>::max();
  const WatchList& watches_;
  BookDraft out_;
  Book& book_ = out_.book;
  LongVector<Key> sorted_;
  std::vector<std::uint32_t> rules_of_terms_;
};

/// Both lists are in the order of pivots.
void carry_memories(std::span<const WatchSlot> before, std::span<WatchSlot> now, SymbolId id) {
  std::size_t i = 0;
  for (WatchSlot& slot : now) {
    slot.symbol = id;
    while (i < before.size() && before[i].pivot < slot.pivot) ++i;
    if (i == before.size() || before[i].pivot != slot.pivot) continue;
    slot.memory = before[i].memory;
    slot.newest_past = before[i].newest_past;
    slot.dirty = before[i].dirty;
    ++i;
  }
}

}  // namespace

BookDraft lay_out(const WatchList& watches) { return Builder(watches).run(); }

void put_in_force(BookDraft&& draft, std::span<const SymbolId> ids, std::span<const std::uint8_t> clocks, Book& book) {
  Book old = std::exchange(book, std::move(draft.book));
  book.hot = old.hot;
  book.cold = std::move(old.cold);
  book.volume = std::move(old.volume);
  for (SymbolHot& hot : book.hot)
    hot.first = hot.count = hot.waiting = hot.clock = 0, hot.up = kNever, hot.down = -kNever;
  for (std::size_t number = 0; number < draft.symbols.size(); ++number) {
    const BookDraft::Symbol& symbol = draft.symbols[number];
    const SymbolId id = ids[number];
    if (id >= book.hot.size()) {
      book.hot.resize(id + 1);
      book.cold.resize(id + 1);
      book.volume.resize(id + 1);
    }
    SymbolHot& hot = book.hot[id];
    SymbolCold& cold = book.cold[id];
    hot.first = symbol.first;
    hot.count = symbol.count;
    hot.clock = clocks[number];
    hot.tape = symbol.tape;
    hot.listing = symbol.listing;
    hot.bad_print = symbol.bad_print;
    hot.trusts_auctions = symbol.trusts_auctions;
    hot.is_stale = true;
    cold.guard_least = Price{2 * symbol.tick.micros};
    cold.first_group = symbol.first_group;
    cold.group_count = symbol.group_count;
    const auto before = id < old.hot.size() ? old.watches(old.hot[id]) : std::span<WatchSlot>();
    carry_memories(before, book.watches(hot), id);
  }
}

}  // namespace brimwatch
