#include "live/house.h"

#include <algorithm>
#include <utility>

#include "core/rehearsal_mark.h"
#include "desk/curves_used.h"
#include "live/feed_notices.h"
#include "live/signs_of_life.h"

namespace brimwatch {
namespace {

constexpr Nanos kLook = 2 * kSecond;

}  // namespace

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
      states_(world_.states),
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
  return {.post = heard_post(),
          .say = world_.say,
          .has_news = [this] { return has_news() || states_.has_more(); },
          .take_news = [this] { return take_news(); },
          .answered = [this](const std::vector<Answer>& all, bool durable) { on_answers_kept(all, durable); },
          .handed_over = [this] { draw(); },
          .add_states = [this](JournalBatch& batch, bool all) { add_states(batch, all); },
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

void House::on_feed_state(FeedState state) {
  if (state == FeedState::ended) world_.end("standard input has ended");
}

void House::on_beat() {
  if (!stage_.is_up()) return;
  in_.on_time(in_session());
  // Before the first tick the engine's time is not known.
  if (feed_clock_.is_set()) {
    desk_->engine().on_time(engine_now(), collector_);
    look_at_day(*desk_, engine_now(), book_);
  }
  ++progress_;
  if (is_checkpoint_due()) states_.hurry();  // the one before is still going
  if (has_news() || is_checkpoint_due()) keeping_.flush();
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

void House::take_own_lifts(OwnLifts lifts) {
  if (!stage_.listens()) return;
  if (const std::string words = lift_in_words(lifts); !words.empty()) world_.say(LogLevel::info, words);
  desk_->histories().put_own_lifts(std::move(lifts));
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
