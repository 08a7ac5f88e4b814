#include <algorithm>
#include <cmath>

#include "core/split.h"
#include "engine/engine_impl.h"
#include "volume/learning/prior.h"

namespace brimwatch {
namespace {

constexpr double kSplitNear = 0.04;      ///< judgement: ordinary overnight moves on the day of a split stay within it
constexpr double kOtherUnit = 100;       ///< cents or pence for dollars or pounds, or the reverse
constexpr Nanos kLateOpening = kMinute;  ///< an opening auction later than this was delayed

/// New shares for one old one; 0: none of the usual splits, and no other unit either.
double split_between(double price, double reference, double least_ratio) {
  const auto is_near = [=](double other) { return std::abs(other / reference - 1) < kSplitNear; };
  for (const SplitRatio& s : kSplitRatios) {
    if (s.ratio < least_ratio) continue;
    if (is_near(price * s.ratio)) return s.ratio;
    if (is_near(price / s.ratio)) return 1 / s.ratio;
  }
  if (is_near(price * kOtherUnit)) return kOtherUnit;
  if (is_near(price / kOtherUnit)) return 1 / kOtherUnit;
  return 0;
}

/// Few splits are of a hundred shares for one; sources that count in cents or pence are many.
bool is_other_unit(double ratio) { return ratio == kOtherUnit || ratio == 1 / kOtherUnit; }

/// Whether the pivot fits the price as it stands better than it would after the split: then somebody has mended it.
bool is_of_new_prices(Price pivot, Price price, double ratio) {
  const double off = std::log(price.as_double() / pivot.as_double());
  return std::abs(off) < std::abs(off + std::log(ratio));
}

/// Somebody may hold the stock by this watch: what it has to say must come.
bool may_be_held(const WatchMemory& m) { return m.following || m.loss_pending || m.is_held(); }

}  // namespace

/// At the day's first price. Against the last close for all watches; against the pivot for those that have never seen a
/// price, since a base is never half as high as its pivot. A split that is known explains the close; then a pivot that
/// does not fit is one in old prices.
void Engine::Impl::look_for_split(SymbolId id, const Print& print) {
  SymbolHot& hot = hot_of(id);
  const double price = print.price.as_double();
  const Price close = cold_of(id).memory.previous_close;
  for (WatchSlot& slot : book_.watches(hot)) {
    if (!slot.is_active(hot.day) || book_.rules[slot.rules].split_guard == SplitGuard::off) continue;
    const bool listed = book_.groups[slot.group].plan.split_listed;
    const double by_close = close.is_set() && !listed ? split_between(price, close.as_double(), 1.5) : 0;
    const bool asks_pivot = slot.memory.side == Side::unknown || listed;
    const double by_pivot = asks_pivot ? split_between(price, slot.pivot_now.as_double(), 2) : 0;
    if (by_close != 0) {
      doubt_split(slot, print, "last close " + to_string(close), by_close);
    } else if (by_pivot != 0) {
      doubt_split(slot, print, "pivot " + to_string(slot.pivot_now), by_pivot);
    }
  }
}

/// Its pivot may be of other prices. A watch whose stock nobody holds by it says nothing until somebody has looked; for
/// the others the doubt is said beside what there is to say, and never instead of it.
void Engine::Impl::doubt_split(WatchSlot& slot, const Print& print, const std::string& against, double ratio) {
  SymbolHot& hot = hot_of(slot.symbol);
  WatchMemory& m = slot.memory;
  const bool asks = may_be_held(m) || book_.rules[slot.rules].split_guard == SplitGuard::ask;
  count_waiting(hot, slot, -1);
  m.doubtful = true;
  if (!asks) {
    m.silent = true;
    m.side = Side::unknown;
    m.armed = true;
    m.told = false;
  }
  count_waiting(hot, slot, +1);
  update_triggers(hot, slot);
  refresh_nearest(hot);
  Notice notice = make_notice(slot, NoticeKind::self_check, print);
  notice.count = count_one(slot, NoticeKind::self_check);
  notice.detail = "price " + to_string(print.price) + " against the " + against + " looks like a split (" +
                  split_text(ratio) + ")" +
                  (is_other_unit(ratio) ? " or another unit (cents, pence: the feed's price_decimals); " : "; ");
  notice.detail += asks ? "if it is none, what is told today stands: check the pivot and the loss limit at once"
                        : "no crossing notices today: check the pivot and correct it";
  notice.detail += what_a_split_makes(slot, print.price, ratio);
  emit(std::move(notice));
}

/// What the levels would be, and what writes them into the list; nothing moves by itself.
std::string Engine::Impl::what_a_split_makes(const WatchSlot& slot, Price price, double ratio) const {
  if (is_of_new_prices(slot.pivot_now, price, ratio)) {
    return "; the pivot " + to_string(slot.pivot_now) +
           " lies near this price: if it is of new prices, it needs no change";
  }
  return "; as a split its " + in_words(after_split(slot.pivot_now, book_.rules[slot.rules], ratio)) +
         "; nothing was changed: `" + split_command(symbols_.name(slot.symbol), ratio) + "` takes it";
}

/// An opening auction minutes after the open: trading was delayed, and nobody said so. The time before it is a halt's,
/// not that of a slow day.
void Engine::Impl::open_late(SymbolId id, Timestamp time) {
  SymbolHot& hot = hot_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  const Nanos late = traded_time(id, time);
  if (hot.last.is_set() || late <= kLateOpening || !memory.unheard.empty()) return;
  memory.halted_for += late;
  hot.has_halts = true;
}

// ---- the source's own count of the day
// --------------------------------------------------------------------------------

/// What it says before the open is no part of the session.
void Engine::Impl::take_count_before_open(SymbolId id, Shares day_volume) {
  const bool counts_all = options_.extended_volume || options_.day_volume_includes == DayVolumeIncludes::regular;
  if (counts_all || !(day_volume > Shares{}) || day_volume > kDayMost) return;
  cold_of(id).memory.day_volume_base = day_volume;
}

/// At the session's first trade: how much the source has counted before it. That is either what was traded before the
/// open, or nobody knows what; but what fell into a hole is simply missing.
void Engine::Impl::take_first_count(SymbolId id, Shares before_this) {
  DayVolume& day = volume_of(id);
  SymbolMemory& memory = cold_of(id).memory;
  if (day.minute >= 0) return;
  if (before_this < memory.day_volume_base) memory.day_volume_base = {};  // it began anew at the open
  const std::int64_t gap = before_this.micros - memory.day_volume_base.micros - day.so_far.micros;
  const bool counts_all = options_.extended_volume || options_.day_volume_includes == DayVolumeIncludes::regular;
  if (counts_all || gap <= 0 || before_this > kDayMost || !memory.unheard.empty()) return;
  constexpr std::int64_t kSmall = 100;  // parts of a normal day: what a feed may lose at its first trade
  const double normal = cold_of(id).group_count > 0 ? book_.groups[cold_of(id).first_group].plan.normal : 0;
  if (static_cast<double>(gap) / 1e6 * kSmall <= normal) return;
  const std::int64_t off = std::abs(gap - memory.outside_volume.micros);
  const bool explained = options_.day_volume_includes == DayVolumeIncludes::extended || off <= gap / 10;
  memory.day_volume_base.micros += gap;
  memory.day_volume_unclear = !explained;
}

}  // namespace brimwatch
