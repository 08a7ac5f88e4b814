// What stands between a price and its word: a market that falls, a price that looks like a split, a price that waits.
#include <algorithm>
#include <cmath>

#include "support/oracle.h"
#include "support/oracle_prints.h"
#include "volume/learning/prior.h"

namespace brimwatch::test {
namespace {

/// Within four percent of a usual split, up or down, of at least that ratio; or a hundred times, as cents are.
bool looks_like_split(Price price, Price against, double least) {
  const double times = price.as_double() / against.as_double();
  if (std::fabs(times / 100 - 1) < 0.04 || std::fabs(times * 100 - 1) < 0.04) return true;
  return std::any_of(kSplitRatios.begin(), kSplitRatios.end(), [&](const SplitRatio& split) {
    const double by = split.ratio;
    return by >= least && (std::fabs(times * by - 1) < 0.04 || std::fabs(times / by - 1) < 0.04);
  });
}

}  // namespace

/// A crossing that the market held back is told as soon as it holds nothing back and the price is in the range.
void Oracle::release(WatchLine& w, SymbolLine& s, const Tick& tick, std::vector<std::string>& said) {
  const bool in_range = tick.price >= w.watch.pivot && tick.price <= w.watch.range_top;
  if (!w.held || holds_back() || !w.told || w.side != "inside" || !in_range) return;
  w.held = false;
  int& count = w.counts[NoticeKind::crossed];
  count = std::max(count, 1);
  ++w.withdrawn;
  const VolumeView v = view(w, s, tick.time);
  w.weight = v.weight;
  say(w, s, {NoticeKind::crossed, true, false, count, w.side}, tick, before_last(s), v, said);
}

/// At the day's first price: against the last close, unless a split is known that explains it; and against the pivot,
/// where the watch has seen no price yet or a split is known. What may be bought by the watch is doubted and not
/// silenced.
void Oracle::look_for_split(SymbolId id, const Tick& tick, std::vector<std::string>& said) {
  SymbolLine& s = symbols_[id];
  const bool known = s.plan.split_listed;
  for (WatchLine* w : watches_of(id)) {
    const SplitGuard guard = w->watch.rules.split_guard;
    if (!is_active(*w, s.day) || guard == SplitGuard::off) continue;
    const bool by_close = !known && s.previous_close.is_set() && looks_like_split(tick.price, s.previous_close, 1.5);
    const bool by_pivot = (known || w->side == "unknown") && looks_like_split(tick.price, w->watch.pivot, 2);
    if (!by_close && !by_pivot) continue;
    w->doubtful = true;
    if (!w->crossed_alive && !w->loss_open && !w->own.is_set() && guard != SplitGuard::ask) {
      w->silent = w->armed = true;
      w->told = false;
      w->side = "unknown";
    }
    const Happening what{NoticeKind::self_check, true, false, ++w->counts[NoticeKind::self_check], w->side};
    say(*w, s, what, tick, before_last(s), VolumeView{}, said);
  }
}

/// Moves nothing; but where bid and ask lie round a price that waits, the market is there.
void Oracle::quote(const Tick& tick, std::vector<std::string>& said) {
  const auto line = symbols_.find(tick.symbol);
  if (line == symbols_.end() || !line->second.held) return;
  SymbolLine& s = line->second;
  const Session* session = calendar_->of(tick.time);
  if (session == nullptr || session->day != s.day || !session->is_open(tick.time)) return;
  const Tick held = *s.held;
  const double near = guard_of(tick.symbol) / 2;
  const auto agrees = [&](Price price) { return price.micros > 0 && !is_far(tick.symbol, price, held.price, near); };
  if (tick.ask < tick.bid || tick.time < held.time || !agrees(tick.bid) || !agrees(tick.ask)) return;
  s.held.reset();
  with_plan(tick.symbol, s);
  if (tick.time - held.time <= 15 * kSecond) accept(tick.symbol, held, said);
}

/// London's comes five to ten minutes after the close, Toronto's within ten; it is the first print of any size, and what
/// follows it at once at its price belongs to it.
bool Oracle::is_auction_without_code(const SymbolLine& s, const Tick& tick, const Session& session) const {
  const double after = static_cast<double>(tick.time - session.close) / 6e10;
  const bool in_time = (calendar_->mic() == "XLON" && after >= 5 && after <= 10) ||
                       (calendar_->mic() == "XTSE" && after >= 0 && after <= 10);
  if (!in_time) return false;
  if (!s.closing) return tick.size.micros >= s.volume.so_far.micros / 100;
  return tick.price == s.closing->price && std::abs(tick.time - s.closing->time) <= kSecond;
}

}  // namespace brimwatch::test
