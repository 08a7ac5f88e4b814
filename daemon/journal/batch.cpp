#include "journal/batch.h"

#include <algorithm>
#include <iterator>
#include <string>
#include <unordered_set>

namespace brimwatch {
namespace {

template <typename Row>
void move_to_end(std::vector<Row>& to, std::vector<Row>& from) {
  to.insert(to.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
}

/// Keeps the last row of each key, in order.
template <typename Row, typename Key>
void keep_last(std::vector<Row>& rows, Key key) {
  std::unordered_set<std::string> seen;
  std::vector<Row> kept;
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
    if (seen.insert(key(*row)).second) kept.push_back(std::move(*row));
  }
  std::reverse(kept.begin(), kept.end());
  rows = std::move(kept);
}

}  // namespace

std::size_t rows_of(const JournalBatch& batch) {
  return batch.notices.size() + batch.watches.size() + batch.symbols.size() + batch.days.size() + batch.holes.size() +
         batch.deliveries.size() + batch.answers.size();
}

void append(JournalBatch& to, JournalBatch&& from) {
  move_to_end(to.notices, from.notices);
  move_to_end(to.watches, from.watches);
  move_to_end(to.symbols, from.symbols);
  move_to_end(to.days, from.days);
  move_to_end(to.holes, from.holes);
  move_to_end(to.deliveries, from.deliveries);
  move_to_end(to.answers, from.answers);
  to.speakers.merge(from.speakers);
}

void coalesce(JournalBatch& batch) {
  const auto dated = [](const auto& state) { return state.symbol + '\n' + std::to_string(state.day.days); };
  keep_last(batch.watches,
            [&](const WatchState& state) { return dated(state) + '\n' + std::to_string(state.pivot.micros); });
  keep_last(batch.symbols, dated);
  keep_last(batch.deliveries, [](const DeliveryRow& row) { return row.notice_id + '\n' + row.channel; });
}

}  // namespace brimwatch
