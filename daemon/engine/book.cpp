#include "engine/book.h"

#include <algorithm>
#include <bit>
#include <optional>
#include <unordered_map>

namespace brimwatch {
namespace {

constexpr Date kFirstDay{std::numeric_limits<std::int32_t>::min()};
constexpr Date kLastDay{std::numeric_limits<std::int32_t>::max()};

struct RulesHash {
  std::size_t operator()(const LiveRules& r) const {
    std::uint64_t h = 14695981039346656037ULL;
    const auto mix = [&h](std::uint64_t value) { h = (h ^ value) * 1099511628211ULL; };
    mix(std::bit_cast<std::uint64_t>(r.odds_heavy));
    mix(std::bit_cast<std::uint64_t>(r.odds_light));
    mix(static_cast<std::uint64_t>(r.surge) << 32 | r.per_day);
    mix(static_cast<std::uint64_t>(r.confirm_trades) << 32 | r.confirm_seconds);
    return h ^ (h >> 29);
  }
};

/// Groups are told apart by what enters a judgement.
bool judged_alike(const Watch& a, const Watch& b) {
  return a.normal_volume == b.normal_volume && a.rules.surge == b.rules.surge &&
         a.rules.odds_heavy == b.rules.odds_heavy && a.rules.odds_light == b.rules.odds_light;
}

class Builder {
 public:
  Builder(const std::vector<Watch>& watches, const std::vector<std::uint8_t>& clocks, SymbolTable& symbols, Book&& old)
      : watches_(watches), clocks_(clocks), symbols_(symbols), old_(std::move(old)) {}

  Book run() {
    order();
    new_.slots.resize(watches_.size());
    new_.slot_of.resize(watches_.size());
    new_.up.resize(watches_.size());
    new_.down.resize(watches_.size());
    new_.up_place.resize(watches_.size());
    new_.down_place.resize(watches_.size());
    carry_symbols();
    for (std::size_t begin = 0; begin < sorted_.size();) begin = place_symbol(begin);
    return std::move(new_);
  }

 private:
  struct Key {
    SymbolId symbol;
    std::uint32_t index;
    Price pivot;
  };

  void order() {
    sorted_.reserve(watches_.size());
    for (std::uint32_t i = 0; i < watches_.size(); ++i) {
      sorted_.push_back({symbols_.intern(watches_[i].symbol), i, watches_[i].pivot});
    }
    std::sort(sorted_.begin(), sorted_.end(), [](const Key& a, const Key& b) {
      if (a.symbol != b.symbol) return a.symbol < b.symbol;
      return a.pivot != b.pivot ? a.pivot < b.pivot : a.index < b.index;
    });
  }

  void carry_symbols() {
    new_.hot = old_.hot;
    new_.cold = old_.cold;
    new_.volume = old_.volume;
    new_.hot.resize(std::max(new_.hot.size(), symbols_.size()));
    new_.cold.resize(new_.hot.size());
    new_.volume.resize(new_.hot.size());
    for (SymbolHot& hot : new_.hot) hot.first = hot.count = hot.waiting = 0, hot.up = kNever, hot.down = -kNever;
  }

  std::size_t place_symbol(std::size_t begin) {
    const SymbolId id = sorted_[begin].symbol;
    std::size_t end = begin;
    while (end < sorted_.size() && sorted_[end].symbol == id) ++end;
    SymbolHot& hot = new_.hot[id];
    SymbolCold& cold = new_.cold[id];
    const Watch& leader = watches_[sorted_[begin].index];
    hot.first = static_cast<std::uint32_t>(begin);
    hot.count = static_cast<std::uint32_t>(end - begin);
    hot.clock = clocks_[sorted_[begin].index];
    hot.tape = leader.tape;
    hot.listing = leader.listing;
    hot.bad_print = 0;
    hot.attention = cold.needs_plan = cold.needs_triggers = true;
    cold.first_group = static_cast<std::uint32_t>(new_.groups.size());
    for (std::size_t at = begin; at < end; ++at) place_watch(at, hot, cold);
    cold.group_count = static_cast<std::uint32_t>(new_.groups.size()) - cold.first_group;
    carry_memories(id);
    return end;
  }

  void place_watch(std::size_t at, SymbolHot& hot, const SymbolCold& cold) {
    const std::uint32_t index = sorted_[at].index;
    const Watch& watch = watches_[index];
    WatchSlot& slot = new_.slots[at];
    slot.levels = levels_of(watch);
    slot.list_index = index;
    slot.rules = rules_index(live_rules_of(watch.rules));
    slot.group = group_index(watch, cold.first_group, slot.rules, index);
    slot.symbol = sorted_[at].symbol;
    slot.from = watch.from.value_or(kFirstDay);
    slot.until = watch.until.value_or(kLastDay);
    const auto guard = static_cast<std::uint32_t>(std::max(watch.rules.bad_print, 0));
    if (guard > 0 && (hot.bad_print == 0 || guard < hot.bad_print)) hot.bad_print = guard;
    new_.slot_of[index] = static_cast<std::uint32_t>(at);
  }

  std::uint32_t rules_index(const LiveRules& rules) {
    const auto [it, fresh] = rules_ids_.try_emplace(rules, static_cast<std::uint32_t>(new_.rules.size()));
    if (fresh) new_.rules.push_back(rules);
    return it->second;
  }

  std::uint32_t group_index(const Watch& watch, std::uint32_t first, std::uint32_t rules, std::uint32_t index) {
    for (std::uint32_t g = static_cast<std::uint32_t>(new_.groups.size()); g-- > first;) {
      if (judged_alike(watches_[new_.groups[g].watch], watch)) return g;
    }
    JudgeGroup group;
    group.rules = rules;
    group.watch = index;
    new_.groups.push_back(group);
    return static_cast<std::uint32_t>(new_.groups.size() - 1);
  }

  /// Both lists are in the order of pivots.
  void carry_memories(SymbolId id) {
    if (id >= old_.hot.size()) return;
    const auto before = old_.watches(old_.hot[id]);
    std::size_t i = 0;
    for (WatchSlot& slot : new_.watches(new_.hot[id])) {
      while (i < before.size() && before[i].levels.pivot < slot.levels.pivot) ++i;
      if (i == before.size()) break;
      if (before[i].levels.pivot != slot.levels.pivot) continue;
      slot.memory = before[i].memory;
      slot.dirty = before[i].dirty;
      ++i;
    }
  }

  const std::vector<Watch>& watches_;
  const std::vector<std::uint8_t>& clocks_;
  SymbolTable& symbols_;
  Book old_, new_;
  std::vector<Key> sorted_;
  std::unordered_map<LiveRules, std::uint32_t, RulesHash> rules_ids_;
};

}  // namespace

Book build_book(const std::vector<Watch>& watches, const std::vector<std::uint8_t>& clock_of_watch, SymbolTable& symbols,
                Book&& old) {
  return Builder(watches, clock_of_watch, symbols, std::move(old)).run();
}

}  // namespace brimwatch
