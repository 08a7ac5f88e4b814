#pragma once
// Ticks for tests: random ones that a tape can hold, comparison, reading a whole tape.
#include <ostream>
#include <random>
#include <string>
#include <vector>

#include "tape/reader.h"

namespace brimwatch {

inline bool same(const Tick& a, const Tick& b) {
  return a.time == b.time && a.received == b.received && a.price == b.price && a.size == b.size && a.symbol == b.symbol &&
         a.kind == b.kind && a.status == b.status && a.exchange == b.exchange && a.feed == b.feed &&
         a.conditions == b.conditions && a.id == b.id && a.day_volume == b.day_volume && a.bid == b.bid &&
         a.ask == b.ask && a.bid_size == b.bid_size && a.ask_size == b.ask_size;
}

/// For the message of a failure.
inline std::string shown(const Tick& t) {
  return to_rfc3339(t.time) + " " + to_rfc3339(t.received) + " " + to_string(t.price) + " " + to_string(t.size) +
         " symbol " + std::to_string(t.symbol) + " id " + std::to_string(t.id) + " kind " +
         std::to_string(static_cast<int>(t.kind)) + " bid " + to_string(t.bid) + " " + to_string(t.ask) + " " +
         to_string(t.bid_size) + " " + to_string(t.ask_size) + " " + to_string(t.day_volume) + " '" +
         std::string(t.conditions.view()) + "'";
}

/// A tape called t.csv.
inline OpenedBytes opened(std::string text) {
  OpenedBytes out;
  out.bytes = memory_bytes(std::move(text));
  out.name = "t.csv";
  return out;
}

struct WholeTape {
  SymbolTable symbols;
  std::vector<Tick> ticks;
  TapeStats stats;
  std::string error;
};

inline void read_whole(WholeTape& out, OpenedBytes bytes, const TapeOptions& options = {}) {
  auto reader = TapeReader::open(std::move(bytes), out.symbols, options);
  if (!reader) {
    out.error = reader.error().text;
    return;
  }
  for (;;) {
    const auto batch = (*reader)->next();
    if (!batch) out.error = batch.error().text;
    if (!batch || batch->empty()) break;
    out.ticks.insert(out.ticks.end(), batch->begin(), batch->end());
  }
  out.stats = (*reader)->stats();
}

inline void read_whole(WholeTape& out, const std::string& path, const TapeOptions& options = {}) {
  auto bytes = open_bytes(path);
  if (!bytes) {
    out.error = bytes.error().text;
    return;
  }
  read_whole(out, std::move(*bytes), options);
}

/// A trade; the i-th is i milliseconds after the first.
inline Tick trade(std::uint64_t i, SymbolId symbol, Timestamp start) {
  Tick tick;
  tick.time = start + static_cast<Nanos>(i) * 1'000'000;
  tick.received = tick.time + 250'000;
  tick.symbol = symbol;
  tick.price = Price{48'350'000 + static_cast<std::int64_t>(i % 100) * 10'000};
  tick.size = Shares::whole(static_cast<std::int64_t>(i % 900) + 1);
  tick.id = i + 1;
  return tick;
}

/// Any tick that a tape can hold, of a symbol below `symbols`.
inline Tick random_tick(std::mt19937_64& random, SymbolId symbols) {
  const auto micros = [&] {
    return static_cast<std::int64_t>(random() % 3 == 0 ? random() % 1'000'000'000'000 : random() % 900 * 10'000) + 1;
  };
  Tick tick;
  tick.kind = static_cast<TickKind>(random() % 8);
  tick.time = Timestamp{static_cast<Nanos>(random() % 2'000'000'000) * kSecond +
                        static_cast<Nanos>(random() % 1'000'000'000) + 1};
  if (random() % 2 == 0 || tick.kind == TickKind::hole)
    tick.received = tick.time + static_cast<Nanos>(random() % 5'000'000'000);
  tick.symbol = tick.kind == TickKind::hole && random() % 2 == 0 ? kNoSymbol : static_cast<SymbolId>(random() % symbols);
  tick.price.micros = micros();
  tick.size.micros = micros() - 1;
  tick.conditions = Conditions::of(random() % 2 == 0 ? "" : random() % 2 == 0 ? "@FTI" : "12345678");
  tick.exchange = random() % 2 == 0 ? 'Q' : '\0';
  tick.id = random() % 2 == 0 ? random() : 0;
  tick.status = tick.kind == TickKind::status ? TradingStatus::halted : TradingStatus::none;
  if (random() % 2 == 0) tick.day_volume.micros = micros();
  if (random() % 2 == 0 || tick.kind == TickKind::bar) tick.bid.micros = micros(), tick.ask.micros = micros();
  if (random() % 2 == 0) tick.bid_size.micros = micros(), tick.ask_size.micros = micros();
  return tick;
}

}  // namespace brimwatch
