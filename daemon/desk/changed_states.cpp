#include "desk/changed_states.h"

#include <algorithm>

namespace brimwatch {
namespace {

bool tells(const JournalBatch& batch) {
  return !batch.notices.empty() || !batch.days.empty() || !batch.holes.empty() || !batch.answers.empty();
}

std::set<SymbolId> told_of(const JournalBatch& batch, const SymbolTable& symbols) {
  std::set<SymbolId> all;
  for (const NoticeRecord& one : batch.notices) all.insert(symbols.find(one.symbol));
  for (const DayRecord& one : batch.days) all.insert(symbols.find(one.symbol));
  for (const Hole& one : batch.holes) all.insert(symbols.find(one.symbol));
  for (const Answer& one : batch.answers) all.insert(symbols.find(one.symbol));
  all.erase(kNoSymbol);
  return all;
}

}  // namespace

void ChangedStates::add_all(Engine& engine, JournalBatch& batch, Timestamp heard) {
  engine.take_changed(batch.watches, batch.symbols);
  part_ = 0, hurries_ = false;
  all_kept_until_ = std::max(all_kept_until_, heard);
  stamp(batch);
}

void ChangedStates::add_unchanged_too(Engine& engine, JournalBatch& batch, Timestamp heard) {
  add_all(engine, batch, heard);
  batch.watches = engine.watch_states(), batch.symbols = engine.symbol_states();
  stamp(batch);
}

bool ChangedStates::add(Engine& engine, const SymbolTable& symbols, JournalBatch& batch, Timestamp heard) {
  if (engine.changed() <= sizes_.few) return add_all(engine, batch, heard), true;
  const bool told = tells(batch);
  const bool begins = !has_more() && !told;
  if (!told || hurries_) add_part(engine, batch, heard);
  for (const SymbolId id : told_of(batch, symbols)) engine.add_changed_of(id, batch.watches, batch.symbols);
  stamp(batch);
  return begins;
}

void ChangedStates::add_part(Engine& engine, JournalBatch& batch, Timestamp heard) {
  if (!has_more()) {
    part_ = std::max(sizes_.part_least, engine.changed() / sizes_.parts_most + 1);
    round_heard_ = heard;
  }
  if (!engine.take_part_of_changed(part_, batch.watches, batch.symbols)) return;
  part_ = 0, hurries_ = false;
  all_kept_until_ = std::max(all_kept_until_, round_heard_);
}

void ChangedStates::stamp(JournalBatch& batch) const {
  for (SymbolState& state : batch.symbols) state.all_kept_until = all_kept_until_;
}

}  // namespace brimwatch
