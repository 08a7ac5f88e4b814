#include "market.h"

#include <algorithm>
#include <cmath>

namespace brimwatch::simulation {
namespace {

constexpr std::int32_t kPercent = 1'000'000;

Price cents(double price) { return Price{std::llround(price * 100) * 10'000}; }

}  // namespace

Market::Market(std::uint64_t seed, const MarketShape& shape) : dice_(seed, "market"), shape_(shape) {
  for (std::size_t i = 0; i < shape.symbols; ++i) {
    names_.push_back("SIM" + std::string(1, static_cast<char>('A' + i % 26)) + std::to_string(i));
    anchors_.push_back(20.0 + 7.0 * static_cast<double>(i));
    prices_.push_back(anchors_.back());
    busy_.push_back(1);
    split_.push_back(1);
  }
  for (std::size_t i = 0; i < shape.watches; ++i) {
    const std::size_t symbol = i < shape.symbols ? i : dice_.below(shape.symbols);
    Watch watch;
    watch.symbol = names_[symbol];
    watch.calendar = Mic(shape.mic);
    watch.pivot = cents(anchors_[symbol] * (0.99 + 0.03 * dice_.unit()));
    watch.normal_volume = Shares::whole(static_cast<std::int64_t>(60'000 + 20'000 * symbol));
    watch.rules.range = kPercent * static_cast<std::int32_t>(1 + dice_.below(4)) / 2;
    watch.rules.loss = kPercent * static_cast<std::int32_t>(3 + dice_.below(6));
    watch.rules.per_day = static_cast<std::uint16_t>(1 + dice_.below(4));
    if (dice_.chance(0.3)) watch.rules.confirm_trades = static_cast<std::uint16_t>(1 + dice_.below(3));
    if (dice_.chance(0.2)) watch.rules.confirm_seconds = static_cast<std::uint16_t>(dice_.below(30));
    if (dice_.chance(0.5)) watch.rules.odds_heavy = 0.55, watch.rules.odds_light = 0.45;
    if (dice_.chance(0.2)) watch.rules.split_guard = dice_.chance(0.5) ? SplitGuard::ask : SplitGuard::off;
    if (dice_.chance(0.2)) watch.rules.trust_auctions = false;
    if (dice_.chance(0.2)) watch.rules.halts = dice_.chance(0.5) ? Halts::all : Halts::none;
    watch.note = dice_.chance(0.1) ? "a note\nwith <two> lines" : "";
    const auto same = [&](const Watch& other) { return other.symbol == watch.symbol && other.pivot == watch.pivot; };
    if (std::any_of(watches_.begin(), watches_.end(), same)) continue;
    set_levels(watch);
    watches_.push_back(watch);
  }
}

/// Wanders, and is drawn back to where the pivots are.
void Market::move(std::size_t symbol) {
  const double pull = (anchors_[symbol] - prices_[symbol]) / anchors_[symbol] * 0.02;
  prices_[symbol] *= 1 + pull + (dice_.unit() - 0.5) * 0.008;
  prices_[symbol] = std::clamp(prices_[symbol], anchors_[symbol] * 0.85, anchors_[symbol] * 1.15);
}

void Market::add_trade(std::vector<Tick>& to, std::size_t symbol, Timestamp at, const char* conditions) {
  Tick tick;
  tick.symbol = static_cast<SymbolId>(symbol);
  tick.time = at;
  tick.price = cents(prices_[symbol]);
  tick.size = Shares::whole(static_cast<std::int64_t>(static_cast<double>((1 + dice_.below(9)) * 100) * busy_[symbol]));
  tick.conditions = Conditions::of(conditions);
  tick.exchange = "NPQD"[dice_.below(4)];
  if (shape_.ids) tick.id = next_id_++;
  const std::string_view codes = tick.conditions.view();
  if (codes.find('I') != std::string_view::npos) barred_[tick.id] = "an odd lot";
  if (codes.find('B') != std::string_view::npos) barred_[tick.id] = "an average price";
  if (codes.find('6') != std::string_view::npos) barred_[tick.id] = "a closing print, after the close";
  to.push_back(tick);
}

/// Overnight all prices of a stock may change as by a split that nobody has listed; the pivots stay what they were.
void Market::look_like_splits() {
  for (std::size_t s = 0; s < names_.size(); ++s) {
    const bool back = split_[s] != 1 && dice_.chance(0.7);
    if (!back && !dice_.chance(0.03)) continue;
    const double by = back ? 1 / split_[s] : dice_.chance(0.5) ? 0.5 : dice_.chance(0.5) ? 2 : 1.0 / 3;
    split_[s] = back ? 1 : split_[s] * by;
    prices_[s] *= by;
    anchors_[s] *= by;
  }
}

/// Halted, paused, or trading again: then with a reopening auction.
void Market::add_status(std::vector<Tick>& to, std::size_t symbol, Timestamp at) {
  Tick status;
  status.kind = TickKind::status;
  status.symbol = static_cast<SymbolId>(symbol);
  status.time = at;
  const bool stops = dice_.chance(0.5);
  status.status = !stops ? TradingStatus::trading : dice_.chance(0.5) ? TradingStatus::halted : TradingStatus::paused;
  to.push_back(status);
  if (!stops && dice_.chance(0.5)) add_trade(to, symbol, at + kSecond / 10, "5");
}

void Market::add_quote(std::vector<Tick>& to, std::size_t symbol, Timestamp at) {
  Tick quote;
  quote.kind = TickKind::quote;
  quote.symbol = static_cast<SymbolId>(symbol);
  quote.time = at;
  quote.bid = Price{cents(prices_[symbol]).micros - 10'000};
  quote.ask = Price{quote.bid.micros + 20'000};
  to.push_back(quote);
}

/// The newest trade: cancelled, or corrected by some cents.
void Market::take_back(std::vector<Tick>& to, Timestamp before) {
  Tick tick = to.back();
  const bool corrects = dice_.chance(0.4);
  tick.kind = corrects ? TickKind::correct : TickKind::cancel;
  tick.time = tick.time + dice_.span(kSecond / 10, 20 * kSecond);
  if (corrects) {
    tick.bid = tick.price;
    tick.bid_size = tick.size;
    tick.price.micros += 10'000 * (static_cast<std::int64_t>(dice_.below(41)) - 20);
  }
  if (tick.time < before) to.push_back(tick);
}

/// Further than the print guard believes at once; a quote or the next trade bears it out.
void Market::jump(std::vector<Tick>& to, std::size_t symbol, Timestamp at) {
  prices_[symbol] *= prices_[symbol] > anchors_[symbol] ? 0.93 : 1.07;
  add_trade(to, symbol, at, "");
  if (dice_.chance(0.5)) add_quote(to, symbol, at + dice_.span(kSecond / 10, 20 * kSecond));
}

/// In New York with its code. London's comes five minutes later and Toronto's at once, in fills without a code.
void Market::add_closing(std::vector<Tick>& to, std::size_t symbol, Timestamp close) {
  const Timestamp at = close + dice_.span(kSecond, kMinute);
  if (shape_.mic == "XNYS") return add_trade(to, symbol, at, "6");
  const Timestamp auction = shape_.mic == "XLON" ? at + 5 * kMinute : at;
  for (std::size_t fills = 1 + dice_.below(3); fills > 0; --fills) {
    add_trade(to, symbol, auction, "");
    to.back().size.micros *= 40;
    barred_[to.back().id] = "a closing print, after the close";
  }
}

std::vector<Tick> Market::day(const Session& session) {
  static const char* const kCodes[] = {"", "", "", "", "", "", "F", "F", "I", "I", "FI", "B", "Z", "4", "L", "O"};
  std::vector<Nanos> times(static_cast<std::size_t>(shape_.ticks_a_day));
  const double span = static_cast<double>(session.close - session.open);
  for (Nanos& time : times) time = static_cast<Nanos>(span * (dice_.unit() * 1.01 - 0.005));
  std::sort(times.begin(), times.end());
  look_like_splits();
  for (std::size_t s = 0; s < names_.size(); ++s) prices_[s] *= 1 + (dice_.unit() - 0.5) * 0.04;
  std::vector<Tick> ticks;
  for (std::size_t s = 0; s < names_.size(); ++s) {
    if (dice_.chance(0.7)) add_trade(ticks, s, session.open + dice_.span(kSecond / 10, 5 * kMinute), "O");
  }
  for (const Nanos time : times) {
    const std::size_t symbol = dice_.below(names_.size());
    const Timestamp at = session.open + time;
    if (dice_.chance(0.004)) busy_[symbol] = 0.5 + 2 * dice_.unit();
    move(symbol);
    if (dice_.chance(0.002)) add_status(ticks, symbol, at);
    else if (dice_.chance(0.03)) add_quote(ticks, symbol, at);
    else if (dice_.chance(0.001)) jump(ticks, symbol, at);
    else add_trade(ticks, symbol, at, kCodes[dice_.below(16)]);
    if (shape_.ids && ticks.back().kind == TickKind::trade && dice_.chance(0.004)) take_back(ticks, session.close);
  }
  for (std::size_t s = 0; s < names_.size(); ++s) add_closing(ticks, s, session.close);
  std::stable_sort(ticks.begin(), ticks.end(), [](const Tick& a, const Tick& b) { return a.time < b.time; });
  return ticks;
}

Tick Market::lie(Timestamp at) {
  std::vector<Tick> made;
  const std::size_t symbol = dice_.below(names_.size());
  add_trade(made, symbol, at, "");
  Tick& tick = made.front();
  const char* why = kFarOff;
  switch (dice_.below(5)) {
    case 0:
      tick.price.micros *= -1, why = "a negative price";
      break;
    case 1:
      tick.price.micros *= 1'000'000, why = "an absurd price";
      break;
    case 2:
      tick.price.micros = 0, why = "no price";
      break;
    case 3:
      tick.time = at + kDayNanos, why = "a print of tomorrow";
      break;
    default:
      tick.price = cents(prices_[symbol] * (dice_.chance(0.5) ? 1.12 : 0.89));
  }
  barred_[tick.id] = why;
  return tick;
}

std::string Market::why_not(std::uint64_t trade_id) const {
  const auto found = barred_.find(trade_id);
  return found == barred_.end() || trade_id == 0 ? "" : found->second;
}

}  // namespace brimwatch::simulation
