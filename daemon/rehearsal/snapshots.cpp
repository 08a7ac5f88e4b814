#include "rehearsal/snapshots.h"

#include "rehearsal/message.h"

namespace brimwatch {
namespace {

void add_volume(Tick& row, bool& own, const Tick& tick) {
  if (tick.day_volume.micros > 0) {
    row.day_volume = tick.day_volume;
    own = true;
  } else if (!own && (tick.kind == TickKind::trade || tick.kind == TickKind::bar)) {
    row.day_volume += tick.size;
  } else if (!own && tick.kind == TickKind::cancel) {
    row.day_volume -= tick.size;
  } else if (!own && tick.kind == TickKind::correct) {
    row.day_volume += tick.size;
    row.day_volume -= tick.bid_size;
  }
}

}  // namespace

void Snapshots::take(const Tick& tick) {
  if (tick.symbol == kNoSymbol || tick.kind == TickKind::status || tick.kind == TickKind::hole) return;
  if (tick.symbol >= rows_.size()) rows_.resize(tick.symbol + 1);
  Row& row = rows_[tick.symbol];
  row.last.kind = TickKind::day;
  row.last.symbol = tick.symbol;
  row.last.time = tick.time;
  add_volume(row.last, row.own_volume, tick);
  if (tick.kind == TickKind::quote) {
    row.last.bid = tick.bid;
    row.last.ask = tick.ask;
  } else if (tick.kind != TickKind::cancel && tick.price.is_set()) {
    row.last.price = tick.price;
  }
  ++version_;
}

std::string Snapshots::json(const std::vector<SymbolId>& symbols, const SymbolTable& names) const {
  std::string out = R"({"quotes":[)";
  for (const SymbolId id : symbols) {
    if (id >= rows_.size() || rows_[id].last.symbol == kNoSymbol) continue;
    if (out.back() != '[') out += ',';
    append_message(out, rows_[id].last, names.name(id), version_);
  }
  return out + "]}\n";
}

}  // namespace brimwatch
