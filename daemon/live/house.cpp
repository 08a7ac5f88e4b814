#include "live/house.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "answers/lists.h"
#include "core/rehearsal_mark.h"
#include "desk/curves_used.h"
#include "desk/desk_view.h"
#include "desk/late_start.h"
#include "live/feed_notices.h"
#include "live/heard_day.h"
#include "live/signs_of_life.h"
#include "session/past_day.h"

namespace brimwatch {
namespace {

constexpr double kUsualSession = 6.5 * 3600;  ///< seconds; near enough to tell a symbol that never trades
constexpr Nanos kCheckpoint = 5 * kSecond;
constexpr Nanos kLook = 2 * kSecond;
constexpr std::size_t kLatest = 50;
constexpr Nanos kWorthAHole = 2 * kSecond;

/// A list whose watches are all over is silent, and nobody would know why. `now`: outside hours the next session counts,
/// so that a list of the weekend is not called idle.
bool none_in_force(const WatchList& watches, const Calendar& calendar, Timestamp now) {
  const Session* const session = calendar.at_or_after(now);
  const Date day = session != nullptr ? session->day : calendar.local_date(now);
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const auto [from, until] = watches.days(i);
    if ((!from || *from <= day) && (!until || day <= *until)) return false;
  }
  return true;
}

/// Of the clock: that of the fastest played day, or that of ours.
double speed_of(const Settings& settings) {
  double speed = 1;
  for (const FeedSettings& feed : settings.feeds)
    if (feed.enabled) speed = std::max(speed, feed.rehearsal);
  return speed;
}

}  // namespace

std::vector<std::string> symbols_of(const Settings& settings) {
  const auto& symbols = settings.watches.symbols();
  std::vector<std::string> names(symbols.begin(), symbols.end());
  std::sort(names.begin(), names.end());
  return names;
}

/// What is posted late is heard only while somebody listens.
std::function<void(std::function<void()>)> House::heard_post() {
  return [this, post = world_.post](std::function<void()> what) {
    post([this, what = std::move(what)] {
      if (stage_.listens()) what();
    });
  };
}

House::House(HouseWorld world, std::unique_ptr<Desk> desk)
    : world_(std::move(world)),
      desk_(std::move(desk)),
      collector_(*desk_),
      answered_(*desk_),
      lessons_(*desk_, desk_->settings().history.learned),
      keeping_(world_of_keeping()),
      out_(world_of_ways_out()),
      in_({world_.wall, world_.steady, world_.trouble, world_.make_feed,
           [this](SymbolId symbol, Timestamp time, Timestamp now) { return past_day(symbol, time, now); }},
          {[this](std::span<const Tick> ticks) { on_ticks(ticks); },
           [this](const FeedEvent& event) { on_feed_event(event); },
           [this](std::size_t feed, Timestamp at, FeedState state, std::string_view text) {
             const bool up = state == FeedState::up;
             if (world_.record_connection) world_.record_connection(in_.settings(feed).name, at, up, text);
             on_feed_state(state);
           },
           [this](std::size_t feed, Timestamp received, std::string_view bytes) {
             if (world_.record_frame) world_.record_frame(in_.settings(feed).name, received, bytes);
           },
           [this](std::size_t feed, std::string_view text) { on_feed_refusal(in_.settings(feed).name, text); }}) {
  speaks_ = !world_.stands_by;
  for (const std::string& problem : desk_->problems()) world_.trouble(LogLevel::warning, problem);
  if (const std::string curves = curves_used(*desk_); !curves.empty()) world_.trouble(LogLevel::info, curves);
}

Result<std::unique_ptr<House>> House::open(HouseWorld world, std::unique_ptr<Desk> desk) {
  std::unique_ptr<House> house(new House(std::move(world), std::move(desk)));
  const Settings& settings = house->desk_->settings();
  auto ways = house->make_ways(settings);
  if (!ways) return tl::unexpected(ways.error());
  house->out_.set_channels(settings.channels, settings.evening, std::move(ways->out));
  house->first_feeds_ = std::move(ways->in);
  return house;
}

Result<House::Ways> House::make_ways(const Settings& settings) {
  auto in = in_.make(settings.feeds);
  if (!in) return tl::unexpected(in.error());
  auto out = out_.make(settings.channels);
  if (!out) return tl::unexpected(out.error());
  return Ways{std::move(*in), std::move(*out)};
}

JournalOutbox::World House::world_of_keeping() {
  return {.steady = world_.steady,
          .post = heard_post(),
          .say = world_.say,
          .trouble = world_.trouble,
          .has_news = [this] { return has_news(); },
          .take_news = [this] { return take_news(); },
          .answered = [this](const std::vector<Answer>& all, bool durable) { on_answers_kept(all, durable); },
          .handed_over = [this] { draw(); },
          .add_states = [this](JournalBatch& batch) { add_states(batch); },
          .tell = [this](std::vector<NoticeRecord> notices) { tell(std::move(notices)); },
          .tell_self_check = [this](const std::string& detail) { tell_self_check(detail); }};
}

ChannelSet::World House::world_of_ways_out() {
  ChannelSet::World world;
  world.wall = world_.wall;
  world.post = heard_post();
  world.make = world_.make_runner;
  world.log = world_.trouble;
  world.keep = [this](std::vector<DeliveryRow> rows, std::function<void()> then) {
    on_delivery_rows(rows);
    keeping_.keep_deliveries(std::move(rows), std::move(then));
  };
  world.report = [this](const ChannelReport& report) { on_channel_report(report); };
  world.seed = world_.seed;
  return world;
}

// --- start ---

void House::restore(RestoredState kept) {
  if (stage_.now() != Stage::starting) return;
  const AnswerBook book(kept.answers);
  if (!book.leaves_lists_alone()) {
    Settings settings = desk_->settings();
    lay_over(settings, book);
    if (const Status laid = desk_->apply(std::move(settings)); !laid) world_.say(LogLevel::error, laid.error().text);
  }
  take_up(std::move(kept));
}

void House::recover(RestoredState kept) {
  if (!stage_.may_go_to(Stage::running)) return;
  const bool late = stage_.now() == Stage::without_journal;
  stage_.go_to(Stage::running);
  if (late) leave_what_was_seen(kept);
  take_up(std::move(kept));
  if (!answered_.book().leaves_lists_alone()) lay_lists_again();
  pump();
}

/// A stock that has traded since the start stands where its trades have brought it: what was before does not go over
/// that.
void House::leave_what_was_seen(RestoredState& kept) const {
  std::set<std::string, std::less<>> seen;
  for (const SymbolState& state : desk_->engine().symbol_states())
    if (state.last.is_set()) seen.insert(state.symbol);  // a price of its own: the hole of the start touches all
  std::erase_if(kept.watches, [&](const WatchState& state) { return seen.contains(state.symbol); });
  std::erase_if(kept.symbols, [&](const SymbolState& state) { return seen.contains(state.symbol); });
}

void House::take_up(RestoredState kept) {
  desk_->histories().take_feed_days(std::move(kept.days));
  answered_.begin_with(AnswerBook(kept.answers), today_for_answers());
  if (!answered_.book().leaves_lists_alone()) ++lists_;  // a configuration that was laid out without it is laid again
  if (world_.share) answers_at_start_ = std::move(kept.answers);
  desk_->engine().restore(kept.watches, kept.symbols);
  note_seen(kept.symbols);
  own_.go_on_from(kept.counts);
  if (speaks_) out_.take_up(std::move(kept.open));
  else open_at_start_ = std::move(kept.open);
}

void House::note_seen(const std::vector<SymbolState>& symbols) {
  for (const SymbolState& state : symbols) {
    seen_before_ = std::max({seen_before_, state.last_time, state.newest_outside});
    resumption_.know(desk_->symbols().find(state.symbol), std::max(state.last_time, state.newest_outside));
  }
}

void House::do_without(const std::string& trouble) {
  if (!stage_.go_to(Stage::without_journal)) return;
  own_.go_on_unread(world_.wall(), desk_->main_calendar());
  keeping_.do_without(trouble);
  ++failed_starts_;
}

void House::start(BatchKeeper& keeper, Records& records) {
  if (stage_.now() == Stage::starting) stage_.go_to(Stage::running);
  keeping_.start(keeper);
  records_ = &records;
  started_ = world_.wall();
  configuration_.read = started_;
  keeper.set_recipients(out_.recipients());
  if (const std::string& trouble = keeping_.trouble(); !trouble.empty()) {
    world_.say(LogLevel::error, trouble);
    tell_self_check("notices are told and not kept, and what was told before this start may be told again: " + trouble);
  }
  feed_clock_.set_speed(speed_of(desk_->settings()));
  if (world_.feed_at_takeover) return;
  in_.set(desk_->settings().feeds, symbols_of(desk_->settings()), std::move(first_feeds_));
  tell_if_blind();
}

std::string House::ready_line() const {
  const Settings& settings = desk_->settings();
  return "watching " + std::to_string(settings.watches.size()) + " pivots on " + std::to_string(in_.size()) + " feed" +
         (in_.size() == 1 ? "" : "s") + ", telling through " + std::to_string(settings.channels.size()) + " channel" +
         (settings.channels.size() == 1 ? "" : "s");
}

// --- the path of a tick ---

void House::on_ticks(std::span<const Tick> all) {
  std::span<const Tick> ticks = believed(resumption_.fresh(all));
  if (ticks.empty()) return;
  ticks_seen_ += ticks.size();
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
    const FeedClock::Seen seen = feed_clock_.see(tick.time, tick.received, steady);
    if (seen == FeedClock::Seen::doubted && !is_of_the_past(tick)) {
      doubted_.push_back(tick);
      continue;
    }
    // Those that were doubted and are borne out come after all, in their place.
    if (seen == FeedClock::Seen::confirmed) believed_.insert(believed_.end(), doubted_.begin(), doubted_.end());
    else if (!doubted_.empty()) world_.trouble(LogLevel::warning, "a print dated far ahead of the others was left out");
    doubted_.clear();
    believed_.push_back(tick);
    // A hole ends where the first print after it says; not later than now, by the feed's clock and by ours.
    Timestamp& end = believed_.back().received;
    if (tick.kind == TickKind::hole && feed_clock_.is_ahead(end, steady) && end > world_.wall() + FeedClock::kAheadMost)
      end = std::max(tick.time, feed_clock_.now(steady));
  }
  return believed_;
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
  expect_symbols();
}

/// The feeds are told how much of each watched stock trades on a usual day, so that one that never comes is noticed.
void House::expect_symbols() {
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
  in_.expect(all);
}

/// Before the first tick now we were blind: since the last one that the journal knows, when both are of one session; else
/// since the open, unless we have been here since before it. A played day is one of the past: nobody was there.
void House::fill_hole_of_start(const Tick& first) {
  const Date day = desk_->main_calendar().local_date(first.time);
  if (has_begun_ || day == begun_with_) return;
  begun_with_ = day;
  has_begun_ = !is_of_the_past(first);  // a source may send first what came last, on the day before
  const Session* session = desk_->main_calendar().of(first.time);
  if (session == nullptr) return;
  const bool was_here = seen_before_ >= session->open;
  if (!was_here && started_ <= session->open) return;
  const auto hole =
      was_here ? hole_before(first, seen_before_, kWorthAHole) : missed_since_open(first, desk_->main_calendar());
  if (!hole) return;
  give({&*hole, 1});
  const bool took_over = world_.feed_at_takeover;
  collector_.batch.holes.push_back(
      {took_over ? "takeover" : "restart", "", hole->time, first.time,
       took_over ? "this machine's feed begins when it takes over" : "the program was not running"});
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

void House::add_states(JournalBatch& batch) {
  desk_->engine().take_changed(batch.watches, batch.symbols);
  if (std::exchange(knows_nothing_, false))
    batch.watches = desk_->engine().watch_states(), batch.symbols = desk_->engine().symbol_states();
  if (today_ != Date{}) batch.day = today_;
  dirty_ = false;
  last_flush_ = world_.steady();
}

void House::on_other_journal() {
  knows_nothing_ = true;
  const std::string detail =
      "the journal was moved away or replaced; another is in use from now on: it knows where each watch stands, earlier "
      "notices are in the old one";
  world_.say(LogLevel::warning, detail);
  collector_.batch.answers = answered_.book().standing();  // it is to make the same lists at the next start
  tell_self_check(detail);
}

JournalBatch House::take_news() {
  JournalBatch batch = std::exchange(collector_.batch, {});
  if (is_rehearsal(desk_->settings())) std::for_each(batch.notices.begin(), batch.notices.end(), mark_as_rehearsal);
  for (const DayRecord& day : batch.days) lessons_.take(day);
  keep_heard_days(batch.days);
  holes_ += batch.holes.size();
  if (!batch.empty()) remember(batch);
  return batch;
}

/// Only days without a hole, at the size of the whole tape where the feed's part of it is known.
void House::keep_heard_days(const std::vector<DayRecord>& days) const {
  if (!world_.keep_days || is_rehearsal(desk_->settings()) || !desk_->settings().history.keep_days) return;
  std::vector<std::pair<std::string, DailyBar>> whole;
  for (const DayRecord& day : days)
    if (const auto bar = heard_day(day, desk_->histories().learned(day.symbol).get()))
      whole.emplace_back(day.symbol, *bar);
  if (!whole.empty()) world_.keep_days(std::move(whole));
}

bool House::has_news() const {
  const JournalBatch& batch = collector_.batch;
  return !batch.notices.empty() || !batch.days.empty() || !batch.holes.empty() || !batch.answers.empty();
}

/// What pictures and figures are made of later.
void House::remember(const JournalBatch& batch) {
  note_in_day(*desk_, batch, book_);
  for (const DayRecord& day : batch.days) errors_.take(day, book_);
  if (!world_.keep_picture) return;
  for (const NoticeRecord& record : batch.notices)
    if (record.notice.price.is_set()) to_draw_.push_back(record);
}

/// Nobody waits for a picture before its notice is told, but the journal's thread waits for the batch.
void House::draw() {
  for (const NoticeRecord& record : std::exchange(to_draw_, {}))
    world_.keep_picture(record.id, day_picture(*desk_, book_, record));
}

void House::on_delivery_rows(const std::vector<DeliveryRow>& rows) {
  for (const DeliveryRow& row : rows) {
    const auto known = sent_.find(row.notice_id);
    if (known == sent_.end()) continue;  // an older one, which no page shows
    std::vector<SentMark>& marks = known->second;
    const auto mark =
        std::find_if(marks.begin(), marks.end(), [&](const SentMark& one) { return one.channel == row.channel; });
    if (mark == marks.end()) marks.push_back({row.channel, to_string(row.state), row.reply});
    else *mark = {row.channel, to_string(row.state), row.reply};
  }
}

void House::show(const NoticeRecord& record) {
  latest_.push_front(record);
  sent_.try_emplace(record.id);
  if (latest_.size() <= kLatest) return;
  sent_.erase(latest_.back().id);
  latest_.pop_back();
}

void House::pump() {
  if (speaks_) out_.pump();
}

void House::tell(std::vector<NoticeRecord> notices) {
  if (!speaks_) return;  // of a disk that hangs: the keeper has them still
  for (const NoticeRecord& record : notices) {
    world_.say(LogLevel::info, record.id + ": " + record.title,
               {.notice = record.id, .kind = to_string(record.notice.kind), .symbol = record.symbol});
    ++by_kind_[static_cast<std::size_t>(record.notice.kind)];
    show(record);
  }
  notices_ += notices.size();
  out_.on_written(notices);
  pump();
}

// --- time ---

void House::on_beat() {
  if (!stage_.is_up()) return;
  in_.on_time(in_session());
  // Before the first tick the engine's time is not known.
  if (feed_clock_.is_set()) {
    desk_->engine().on_time(engine_now(), collector_);
    look_at_day(*desk_, engine_now(), book_);
  }
  ++progress_;
  keeping_.on_beat();
  if (has_news() || (dirty_ && world_.steady() - last_flush_ > kCheckpoint)) keeping_.flush();
  pump();
  now_and_then();
}

/// What need not be done at every beat: acknowledgements of other processes, lessons of the evening.
void House::now_and_then() {
  if (world_.steady() - last_look_ < kLook) return;
  last_look_ = world_.steady();
  records_->new_acknowledgements([this](const std::vector<std::string>& ids) {
    for (const std::string& id : ids) out_.on_acknowledged(id);
    pump();
  });
  if (lessons_.has_news()) save_lessons();
  say_good_morning();
  say_what_held();
}

/// The review of the day, once it is over. What is not yet on its way to the journal must be there before it is read.
void House::say_what_held() {
  if (!world_.make_review || !keeping_.is_idle() || has_news()) return;
  const Timestamp now = engine_now();
  const Calendar& calendar = desk_->main_calendar();
  // A day of which nothing has been seen, neither now nor before a restart, has no review.
  const Timestamp seen = feed_clock_.is_set() ? feed_clock_.newest() : seen_before_;
  if (!seen.is_set() || calendar.local_date(seen) != calendar.local_date(now)) return;
  const auto day = evening_.due(now, calendar, desk_->settings().evening);
  if (!day) return;
  world_.make_review(*day, now, [this](NoticeRecord review) {
    if (!stage_.is_up()) return;  // the next start finds it due
    // It is new now, however old the feed's time.
    if (!is_rehearsal(desk_->settings())) review.notice.age = std::max<Nanos>(world_.wall() - review.notice.time, 0);
    collector_.batch.notices.push_back(std::move(review));
    keeping_.flush();
  });
}

void House::say_good_morning() {
  const Timestamp now = world_.wall();
  const Calendar& calendar = desk_->main_calendar();
  if (!is_morning(desk_->settings().life.morning, calendar, now)) return;
  if (own_.has_said(calendar.local_date(now), kMorning, NoticeKind::self_check)) return;
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.detail = morning_line(*desk_, in_.rows(), keeping_.trouble(), now);
  if (!history_trouble_.empty()) notice.detail += "; " + history_trouble_;
  tell_about(kMorning, std::move(notice));
}

void House::save_lessons() { world_.save_lessons(lessons_.take_all(), lessons_.file()); }

// --- notices about ourselves ---

void House::tell_about(const std::string& name, Notice notice) {
  collector_.batch.notices.push_back(own_.make(name, std::move(notice), world_.wall(), desk_->main_calendar()));
  keeping_.flush();
}

void House::tell_self_check(const std::string& detail) {
  if (!stage_.listens()) return;
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.detail = detail;
  tell_about("", std::move(notice));
}

/// "channel works again; ..." with its name, which the notice has elsewhere.
static std::string of_channel(const std::string& name, const std::string& detail) {
  constexpr std::string_view kChannel = "channel ";
  const bool named = !detail.starts_with(kChannel) || detail.starts_with(std::string(kChannel) + name);
  return named ? detail : "channel " + name + " " + detail.substr(kChannel.size());
}

void House::on_channel_report(const ChannelReport& report) {
  const Calendar& calendar = desk_->main_calendar();
  const Notice notice = notice_of(report, calendar.local_date(report.at), 1, calendar.offset(report.at));
  world_.say(report.works && !report.some ? LogLevel::info : LogLevel::warning, of_channel(report.channel, notice.detail),
             {.channel = report.channel});
  // One that some of its recipients refuse still reaches the others: they are told through it too.
  tell_about(report.some ? "" : report.channel, notice);
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

void House::on_feed_event(const FeedEvent& event) {
  const std::string& name = in_.settings(event.feed).name;
  if (event.kind == FeedEvent::Kind::hole) {
    collector_.batch.holes.push_back(
        {name, std::string(desk_->symbols().name(event.symbol)), event.from, event.to, event.text});
    return;
  }
  const auto kind = notice_kind_of(event.kind);
  world_.say(
      kind == NoticeKind::feed_back || !kind ? LogLevel::info : LogLevel::warning, "feed " + name + ": " + event.text,
      {.feed = name, .symbol = event.symbol == kNoSymbol ? std::string_view() : desk_->symbols().name(event.symbol)});
  if (!kind) return;
  Notice notice;
  notice.kind = *kind;
  notice.detail = event.text;
  tell_about(name, std::move(notice));
}

void House::on_feed_state(FeedState state) {
  if (state == FeedState::ended) world_.end("standard input has ended");
}

void House::take_own_lifts(OwnLifts lifts) {
  if (!stage_.listens()) return;
  if (const std::string words = lift_in_words(lifts); !words.empty()) world_.say(LogLevel::info, words);
  desk_->histories().put_own_lifts(std::move(lifts));
}

// --- seen from outside ---

bool House::is_well() const {
  if (!keeping_.trouble().empty()) return false;
  const std::vector<FeedRow> feeds = in_.rows();
  return !in_session() || std::any_of(feeds.begin(), feeds.end(), [](const FeedRow& feed) { return feed.carrying; });
}

std::chrono::seconds House::offset() const { return desk_->main_calendar().offset(engine_now()); }

Snapshot House::snapshot() const {
  Snapshot view;
  view.rehearsal = is_rehearsal(desk_->settings());
  view.time = view.rehearsal ? engine_now() : world_.wall();
  view.version = BRIMWATCH_VERSION;
  describe_desk(*desk_, engine_now(), view);
  answered_.describe(view, today_for_answers());
  view.feeds = in_.rows();
  view.channels = out_.rows();
  view.latest.assign(latest_.begin(), latest_.end());
  view.ticks = ticks_seen_;
  view.sent = sent_;
  view.notices = notices_;
  for (std::size_t kind = 0; kind < kNoticeKinds; ++kind)
    view.notices_by_kind.emplace_back(to_string(static_cast<NoticeKind>(kind)), by_kind_[kind]);
  view.projection_errors = errors_.rows();
  view.holes = holes_;
  view.journal_waiting = keeping_.keeper().waiting();
  view.journal_failures = keeping_.keeper().counters().failures + failed_starts_;
  view.journal_trouble = keeping_.trouble();
  view.configuration = configuration_;
  view.upkeep = reloads_;
  if (world_.recording) view.recording = world_.recording();
  if (world_.shared) view.shared = world_.shared();
  return view;
}

// --- one of several machines ---

void House::adopt(const std::vector<WatchState>& watches) {
  if (watches.empty() || !stage_.is_up()) return;
  desk_->engine().restore(watches, {});
  answered_.hold_stocks(today_for_answers());
  dirty_ = true;
}

void House::hear(const std::vector<NoticeRecord>& notices) {
  for (const NoticeRecord& record : notices) {
    own_.note(record);
    show(record);
  }
}

void House::speak(std::vector<OpenDelivery> open) {
  speaks_ = true;
  out_.take_up(std::move(open));
  pump();
}

void House::stand_by() {
  speaks_ = false;
  out_.stand_down();
  if (world_.feed_at_takeover) in_.set({}, {}, {});
}

void House::begin_feed(const std::vector<SymbolState>& symbols) {
  if (in_.size() > 0 || !stage_.is_up()) return;
  desk_->engine().restore({}, symbols);
  note_seen(symbols);
  has_begun_ = false, begun_with_ = {};  // what it heard the last time is long ago
  started_ = world_.wall();
  auto made = in_.make(desk_->settings().feeds);
  if (!made) return tell_self_check("the feed cannot be begun: " + made.error().text);
  in_.set(desk_->settings().feeds, symbols_of(desk_->settings()), std::move(*made));
  tell_if_blind();
}

void House::tell_taken_over(const std::string& detail) {
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.detail = detail;
  tell_about("shared", std::move(notice));
}

// --- reload and end ---

bool House::apply(ReadyDesk ready) {
  if (!stage_.is_up()) return false;  // it was on its way when the end began
  if (!ready.parts) return refuse(ready.problems, ready.parts.error().text), false;
  if (ready.parts->settings.watches.empty() && !desk_->settings().watches.empty())
    return refuse({}, "it names no watch, and so nothing would be watched"), false;
  const bool is_laid = ready.lists == lists_;
  auto ways = make_ways(ready.parts->settings);
  if (!ways) return refuse({}, ways.error().text), false;
  desk_->apply(std::move(*ready.parts));
  ++applied_;
  note_read(std::move(ready.warnings));
  if (today_ != Date{}) desk_->begin_day(today_);  // the market's trend of the day
  answered_.hold_stocks(today_for_answers());
  put_in_force(std::move(*ways));
  ++reloads_.reloads;
  if (!is_laid) lay_lists_again();
  tell_if_blind();
  if (none_in_force(desk_->settings().watches, desk_->main_calendar(), engine_now()))
    warn("since the reload no watch is in force; nothing will be told of any price");
  return true;
}

bool House::renew(ReadyDesk ready, std::uint64_t of) {
  if (!stage_.is_up() || !ready.parts || of != applied_) return false;
  desk_->apply(std::move(*ready.parts));
  ++applied_;  // an answer's lists that were laid out meanwhile rest on older days: they are laid out anew
  if (today_ != Date{}) desk_->begin_day(today_);
  answered_.hold_stocks(today_for_answers());  // in the terms of a split that is new
  if (today_ != Date{}) expect_symbols();
  return true;
}

void House::put_in_force(Ways ways) {
  const Settings& settings = desk_->settings();
  out_.set_channels(settings.channels, settings.evening, std::move(ways.out));
  keeping_.keeper().set_recipients(out_.recipients());
  feed_clock_.set_speed(speed_of(settings));
  if (speaks_ || !world_.feed_at_takeover) in_.set(settings.feeds, symbols_of(settings), std::move(ways.in));
  if (today_ != Date{}) expect_symbols();
}

/// What `check` says of it; a reload has no terminal to say it on.
void House::note_read(std::vector<std::string> warnings) {
  for (const std::string& warning : warnings) world_.say(LogLevel::warning, warning);
  for (const std::string& problem : desk_->problems()) world_.trouble(LogLevel::warning, problem);
  configuration_ = {world_.wall(), {}, std::move(warnings)};
}

void House::refuse(const std::vector<Problem>& problems, const std::string& why) {
  ++reloads_.reloads_refused;
  for (const Problem& problem : problems) world_.say(LogLevel::error, to_string(problem));
  const std::string count =
      problems.size() > 1 ? " (and " + std::to_string(problems.size() - 1) + " more; brimwatch check lists all)" : "";
  configuration_.read = world_.wall();
  configuration_.refused = why + count;
  tell_self_check("the new configuration was refused and the old one stays in force; " + why + count);
}

/// A daemon that watches nothing says so: nobody would know why it is silent.
void House::tell_if_blind() {
  if (in_.size() == 0) warn("no feed is in force; nothing is seen, and nothing will be told of any price");
}

void House::warn(const std::string& detail) {
  world_.say(LogLevel::warning, detail);
  tell_self_check(detail);
}

void House::begin_end() {
  if (!stage_.go_to(Stage::stopping)) return;
  in_.stop();
  keeping_.write_out();
  if (lessons_.has_news()) save_lessons();
}

/// A journal that is in trouble is not waited for here: it has a time of its own at the end.
bool House::is_quiet() const { return (keeping_.is_idle() || !keeping_.trouble().empty()) && !has_news() && out_.idle(); }

}  // namespace brimwatch
