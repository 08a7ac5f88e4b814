#include "adapters/feeds/screen.h"

#include <utility>

namespace brimwatch {
namespace {

constexpr std::size_t kSlotsFirst = 64, kSlotsMost = 4096;  // half of them used
constexpr Nanos kFutureMost = 60 * kSecond;
constexpr int kFutureRun = 20;
constexpr Nanos kFutureSpan = 10 * kSecond;
constexpr Nanos kDisorder = kSecond;
constexpr Price kPriceMost{10'000'000 * kMicrosPerUnit};  // above any listed share

std::uint64_t mixed(std::uint64_t hash, std::uint64_t value) {
  hash = (hash ^ value) * 0x9E3779B97F4A7C15ULL;
  return hash ^ (hash >> 32);
}

std::uint64_t fingerprint_of(const Tick& tick) {
  std::uint64_t hash = mixed(1 + static_cast<std::uint64_t>(tick.kind), static_cast<std::uint64_t>(tick.price.micros));
  hash = mixed(hash, static_cast<std::uint64_t>(tick.size.micros));
  hash = mixed(hash, static_cast<unsigned char>(tick.exchange));
  if (tick.id != 0) return mixed(hash, tick.id) | 1;
  for (const char code : tick.conditions.codes) hash = mixed(hash, static_cast<unsigned char>(code));
  return mixed(hash, static_cast<std::uint64_t>(tick.time.ns)) | 1;  // 0 is an empty slot
}

/// The trade that a cancel or a correction is about, as it was when it came.
Tick trade_behind(const Tick& tick) {
  Tick trade = tick;
  trade.kind = TickKind::trade;
  if (tick.kind == TickKind::correct) trade.price = tick.bid, trade.size = tick.bid_size;
  return trade;
}

bool same_snapshot(const Tick& a, const Tick& b) {
  return a.time == b.time && a.price == b.price && a.day_volume == b.day_volume && a.bid == b.bid && a.ask == b.ask;
}

}  // namespace

bool RecentPrints::has(const Table& table, std::uint64_t fingerprint) {
  if (table.empty()) return false;
  const std::size_t mask = table.size() - 1;
  for (std::size_t at = (fingerprint >> 8) & mask; table[at] != 0; at = (at + 1) & mask) {
    if (table[at] == fingerprint) return true;
  }
  return false;
}

void RecentPrints::put(Table& table, std::uint64_t fingerprint) {
  const std::size_t mask = table.size() - 1;
  std::size_t at = (fingerprint >> 8) & mask;
  while (table[at] != 0) at = (at + 1) & mask;
  table[at] = fingerprint;
}

bool RecentPrints::seen(std::uint64_t fingerprint) {
  if (has(newer_, fingerprint) || has(older_, fingerprint)) return true;
  if (used_ * 2 >= newer_.size()) make_room();
  put(newer_, fingerprint);
  ++used_;
  return false;
}

void RecentPrints::make_room() {
  if (newer_.size() >= kSlotsMost) {
    forgot_ = forgot_ || !older_.empty();
    older_.swap(newer_);
    newer_.assign(kSlotsMost, 0);
    used_ = 0;
    return;
  }
  Table bigger(newer_.empty() ? kSlotsFirst : newer_.size() * 2);
  for (const std::uint64_t print : newer_) {
    if (print != 0) put(bigger, print);
  }
  newer_.swap(bigger);
}

bool TickScreen::pass(const Tick& tick, Instant now) {
  if (tick.kind == TickKind::hole || tick.symbol == kNoSymbol) return true;
  if (is_future(tick, now) || is_absurd(tick)) return false;
  if (tick.symbol >= symbols_.size()) symbols_.resize(tick.symbol + 1);
  Symbol& symbol = symbols_[tick.symbol];
  if (is_repeated(tick, symbol)) return false;
  if (tick.time + kDisorder < symbol.last) ++counts_.disordered;
  if (tick.time > symbol.last) symbol.last = tick.time;
  return true;
}

/// Where a fingerprint could differ for other reasons (no id, no exchange, no price), nothing is proved.
void TickScreen::strike_unheard(Tick& tick) {
  if (tick.symbol == kNoSymbol || tick.symbol >= symbols_.size()) return;
  Symbol& symbol = symbols_[tick.symbol];
  if (tick.kind == TickKind::trade) symbol.has_exchanges = symbol.has_exchanges || tick.exchange != 0;
  if (tick.kind != TickKind::cancel && tick.kind != TickKind::correct) return;
  const Tick trade = trade_behind(tick);
  const bool comparable =
      tick.id != 0 && trade.price.is_set() && trade.size.micros > 0 && (tick.exchange != 0 || !symbol.has_exchanges);
  if (!comparable) return;
  if (symbol.prints.never_had(fingerprint_of(trade))) {
    ++counts_.unheard;
    (tick.kind == TickKind::cancel ? tick.size : tick.bid_size) = {};
  } else if (tick.kind == TickKind::correct) {
    Tick corrected = tick;
    corrected.kind = TickKind::trade;
    (void)symbol.prints.seen(fingerprint_of(corrected));  // it may be taken back in its turn
  }
}

void TickScreen::on_reconnect() {
  for (Symbol& symbol : symbols_) symbol.resend = symbol.last;
}

/// By our clock, and, once something has come, by the feed's own as well: where ours is set back while it runs, nothing
/// is lost.
bool TickScreen::is_future(const Tick& tick, Instant now) {
  if (!now.wall.is_set() || tick.time - now.wall <= kFutureMost) {
    future_run_ = 0;
    trust_future_ = false;
    return note_believed(tick, now), false;
  }
  if (future_run_++ == 0) future_since_ = now.steady;
  if (future_run_ >= kFutureRun && now.steady - future_since_ >= kFutureSpan) trust_future_ = true;
  const bool in_time = newest_.is_set() && tick.time - newest_ <= now.steady - newest_at_ + kFutureMost;
  if (trust_future_ || in_time) return note_believed(tick, now), false;
  ++counts_.future;
  return true;
}

void TickScreen::note_believed(const Tick& tick, Instant now) {
  if (tick.time <= newest_) return;
  newest_ = tick.time;
  newest_at_ = now.steady;
}

bool TickScreen::is_absurd(const Tick& tick) {
  if (tick.price > kPriceMost || tick.bid > kPriceMost || tick.ask > kPriceMost) return ++counts_.absurd, true;
  const bool is_quote = tick.kind == TickKind::quote;
  if (is_quote && tick.bid.is_set() && tick.ask.is_set() && tick.bid > tick.ask) return ++counts_.crossed, true;
  return false;
}

bool TickScreen::is_repeated(const Tick& tick, Symbol& symbol) {
  if (tick.kind == TickKind::day) {
    if (same_snapshot(tick, symbol.day)) return ++counts_.unchanged, true;
    symbol.day = tick;
    return false;
  }
  // A trade taken back twice would be subtracted twice.
  const bool counts = tick.kind == TickKind::trade || tick.kind == TickKind::cancel || tick.kind == TickKind::correct;
  if (!counts) return false;
  if (!symbol.prints.seen(fingerprint_of(tick))) return false;
  if (tick.id == 0 && tick.time > symbol.resend && !asks_again_) return false;
  return ++counts_.repeated, true;
}

}  // namespace brimwatch
