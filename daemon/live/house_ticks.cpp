// The path of a tick: from a feed, as far as it is fresh and believed, into the engine, a day at a time; and what time
// it is for the engine.
#include <algorithm>
#include <map>

#include "core/rehearsal_mark.h"
#include "live/house.h"
#include "session/past_day.h"

namespace brimwatch {
namespace {

constexpr double kUsualSession = 6.5 * 3600;  ///< seconds; near enough to tell a symbol that never trades

}  // namespace

void House::on_ticks(std::span<const Tick> all) {
  std::span<const Tick> ticks = believed(resumption_.fresh(all));
  if (ticks.empty()) return;
  ticks_seen_ += ticks.size();
  heard_at_ = world_.steady();
  while (!ticks.empty()) ticks = ticks.subspan(give_day(ticks));
  dirty_ = true;
  look_at_day(*desk_, engine_now(), book_);
  if (has_news()) keeping_.flush();
}

/// By our clock, and, once something of today has come, by the feed's as well: where ours jumps by a day, nothing is
/// lost.
std::optional<Date> House::past_day(SymbolId symbol, Timestamp time, Timestamp now) const {
  const auto day = desk_->past_day(symbol, time, now);
  if (!day || !feed_clock_.is_set()) return day;
  return desk_->past_day(symbol, time, feed_clock_.now(world_.steady()));
}

bool House::is_of_the_past(const Tick& tick) { return tick.received.is_set() && tick.time + kPastAfter < tick.received; }

/// Without those that the feed's clock does not believe: the engine knows no steady clock, and ours may be as wrong as
/// they are. A recorded day that is played through a pipe makes leaps of its own, far behind our clock: it comes through
/// whole.
std::span<const Tick> House::believed(std::span<const Tick> ticks) {
  const Nanos steady = world_.steady();
  believed_.clear();
  for (const Tick& tick : ticks) {
    const bool is_hole = tick.kind == TickKind::hole;  // whose second time is its end
    const Timestamp before = feed_clock_.is_set() ? feed_clock_.now(steady) : tick.time;
    const FeedClock::Seen seen = feed_clock_.see(tick.time, is_hole ? Timestamp{} : tick.received, steady);
    if (seen == FeedClock::Seen::doubted && !is_of_the_past(tick)) {
      doubted_.push_back(tick);
      continue;
    }
    if (seen != FeedClock::Seen::behind) end_doubts(seen == FeedClock::Seen::confirmed);
    if (seen == FeedClock::Seen::leapt) put_hole_before(tick, std::max(before, seen_before_));
    believed_.push_back(tick);
    // A hole ends where the first print after it says; not later than now, by the feed's clock and by ours.
    Timestamp& end = believed_.back().received;
    if (is_hole && feed_clock_.is_ahead(end, steady) && end > world_.wall() + FeedClock::kAheadMost)
      end = std::max(tick.time, feed_clock_.now(steady));
  }
  return believed_;
}

/// When this run began, by what the clocks say now: a machine without a battery begins with an old time and is set right
/// a moment later, and where the feed's clock is ahead of ours, ours is still wrong.
Timestamp House::started() const {
  const Nanos steady = world_.steady(), since = steady - started_steady_;
  const Timestamp ours{world_.wall().ns - since};
  return feed_clock_.is_set() ? std::max(ours, Timestamp{feed_clock_.now(steady).ns - since}) : ours;
}

/// A source begins with the last trades of stocks that trade seldom: from those to our start nothing was heard.
void House::put_hole_before(const Tick& tick, Timestamp from) {
  const Timestamp to = std::min(tick.time, started());
  if (from >= to) return;
  Tick hole;
  hole.kind = TickKind::hole;
  hole.symbol = kNoSymbol;
  hole.time = from;
  hole.received = to;
  hole.feed = tick.feed;
  believed_.push_back(hole);
}

/// Those that were doubted and are borne out come after all, in their place.
void House::end_doubts(bool borne_out) {
  if (borne_out) believed_.insert(believed_.end(), doubted_.begin(), doubted_.end());
  else if (!doubted_.empty()) world_.trouble(LogLevel::warning, "a print dated far ahead of the others was left out");
  doubted_.clear();
}

/// Gives those before the first of a later day, and says how many: a source that catches up sends the end of one day and
/// the beginning of the next in one piece, and what is to be known of a day is looked for at its first tick.
std::size_t House::give_day(std::span<const Tick> ticks) {
  begin_day(ticks.front());
  fill_hole_of_start(ticks.front());
  const auto next =
      std::find_if(ticks.begin() + 1, ticks.end(), [this](const Tick& tick) { return tick.time >= next_day_; });
  const auto count = static_cast<std::size_t>(next - ticks.begin());
  give(ticks.first(count));
  return count;
}

/// What is recorded is what the engine gets, so that a replay of the recording says the same.
void House::give(std::span<const Tick> ticks) {
  if (world_.record_ticks) world_.record_ticks(ticks);
  desk_->engine().on_ticks(ticks, collector_);
  ++progress_;
}

void House::begin_day(const Tick& tick) {
  const Date day = desk_->main_calendar().local_date(tick.time);
  if (day == today_) return;
  today_ = day;
  next_day_ = end_of_day(tick.time) + kMinute;
  desk_->begin_day(day);
  answered_.hold_stocks(today_for_answers());
  expect_symbols(true);
}

/// The feeds are told how much of each watched stock trades on a usual day, so that one that never comes is noticed.
void House::expect_symbols(bool new_day) {
  constexpr std::size_t kMost = 10'000;  // of larger lists the first
  const WatchList& watches = desk_->settings().watches;
  std::map<SymbolId, ExpectedSymbol> expected;
  for (std::uint32_t i = 0; i < std::min(watches.size(), kMost); ++i) {
    const auto [from, until] = watches.days(i);
    if ((from && *from > today_) || (until && *until < today_)) continue;
    const WatchView view = desk_->engine().view(i, engine_now());
    const std::string name(watches[i].symbol);
    const SymbolId id = desk_->symbols().find(name);
    if (id != kNoSymbol) expected[id] = {id, name, view.volume.normal.as_double() / kUsualSession};
  }
  std::vector<ExpectedSymbol> all;
  for (auto& [id, one] : expected) all.push_back(std::move(one));
  in_.expect(all, new_day);
}

Timestamp House::engine_now() const {
  if (!feed_clock_.is_set()) return world_.wall();
  const Timestamp now = feed_clock_.now(world_.steady());
  return is_rehearsal(desk_->settings()) ? std::min(now, end_of_day(feed_clock_.newest())) : now;
}

/// A played day goes on after its last tick until it ends, and no further: nothing is there to be played of the next.
Timestamp House::end_of_day(Timestamp time) const {
  const Calendar& calendar = desk_->main_calendar();
  const Nanos midnight = calendar.local_date(time).days * kDayNanos - calendar.offset(time).count() * kSecond;
  return Timestamp{midnight + kDayNanos - kMinute};
}

/// By the feed's clock, which may be a quarter of an hour behind, or a played day's; where it is far behind (nothing has
/// come of today), by ours too.
bool House::in_session() const {
  const Timestamp ours = world_.wall(), feeds = engine_now();
  const auto is_open = [this](Timestamp time) {
    const Session* session = desk_->main_calendar().of(time);
    return session != nullptr && session->is_open(time);
  };
  const bool behind = !is_rehearsal(desk_->settings()) && feeds + kPastAfter < ours;
  return is_open(feeds) || (behind && is_open(ours));
}

/// Of the clock: that of the fastest played day, or that of ours.
double House::speed_of(const Settings& settings) {
  double speed = 1;
  for (const FeedSettings& feed : settings.feeds)
    if (feed.enabled) speed = std::max(speed, feed.rehearsal);
  return speed;
}

}  // namespace brimwatch
