#pragma once
// What the shared log has yet to hear from this machine: it had no room for it, or was away. Of each watch, message and
// stock's day the newest; nothing of it goes before the log has it, or something newer. Pure.
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "shared/entries/operations.h"

namespace brimwatch {

class Owed {
 public:
  using WatchKey = std::pair<std::string, Price>;  ///< symbol, pivot

  /// It was not done. What is owed of the same by now is newer, and stays.
  void give_back(const SharedOperation& operation);
  /// Takes the place of what was owed of the same.
  void add(const DeliveryRow& row);
  void add(const SymbolState& state) { symbols_[state.symbol] = state; }
  /// The log has something newer of the same, or gets it another way.
  void forget(const DeliveryRow& row) { deliveries_.erase({row.notice_id, row.channel}); }
  void forget(const WatchState& state) { watches_.erase({state.symbol, state.pivot}); }

  [[nodiscard]] const WatchState* watch(const WatchKey& key) const;
  [[nodiscard]] bool is_empty() const { return watches_.empty() && deliveries_.empty(); }  ///< but for stocks' days
  [[nodiscard]] std::uint64_t dropped() const { return dropped_; }

  // To be written now; what is not done is given back.
  std::vector<WatchState> take_watches();
  std::vector<DeliveryRow> take_deliveries();
  std::vector<SymbolState> take_symbols();

  /// Watches and stocks there are only so many; of more messages than this the oldest go.
  static constexpr std::size_t kDeliveriesMost = 20'000;

 private:
  void keep_bound();

  std::map<WatchKey, WatchState> watches_;
  std::map<std::pair<std::string, std::string>, DeliveryRow> deliveries_;  ///< by notice and channel: the oldest first
  std::map<std::string, SymbolState> symbols_;
  std::uint64_t dropped_ = 0;
};

}  // namespace brimwatch
