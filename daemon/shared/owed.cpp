#include "shared/owed.h"

namespace brimwatch {
namespace {

template <typename Rows>
auto taken(Rows& rows) {
  std::vector<typename Rows::mapped_type> all;
  for (auto& [key, row] : std::exchange(rows, {})) all.push_back(std::move(row));
  return all;
}

}  // namespace

void Owed::give_back(const SharedOperation& operation) {
  for (const WatchState& state : operation.watches) watches_.try_emplace({state.symbol, state.pivot}, state);
  for (const SymbolState& state : operation.symbols) symbols_.try_emplace(state.symbol, state);
  for (const SharedDelivery& one : operation.deliveries)
    deliveries_.try_emplace({one.row.notice_id, one.row.channel}, one.row);
  keep_bound();
}

void Owed::add(const DeliveryRow& row) {
  deliveries_[{row.notice_id, row.channel}] = row;
  keep_bound();
}

void Owed::keep_bound() {
  for (; deliveries_.size() > kDeliveriesMost; ++dropped_) deliveries_.erase(deliveries_.begin());
}

const WatchState* Owed::watch(const WatchKey& key) const {
  const auto found = watches_.find(key);
  return found == watches_.end() ? nullptr : &found->second;
}

std::vector<WatchState> Owed::take_watches() { return taken(watches_); }
std::vector<DeliveryRow> Owed::take_deliveries() { return taken(deliveries_); }
std::vector<SymbolState> Owed::take_symbols() { return taken(symbols_); }

}  // namespace brimwatch
