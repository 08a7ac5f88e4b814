#include "episode.h"

#include <array>

namespace brimwatch::simulation {
namespace {

/// Of three seeds one trades elsewhere.
std::string mic_of(std::uint64_t seed) {
  Dice dice(seed, "exchange");
  return dice.chance(0.67) ? "XNYS" : dice.chance(0.5) ? "XLON" : "XTSE";
}

std::shared_ptr<const Calendar> calendar_of(std::uint64_t seed) { return *Calendar::load(mic_of(seed), {}); }

MarketShape market_shape(std::uint64_t seed) {
  Dice dice(seed, "shape");
  MarketShape shape;
  shape.ids = dice.chance(0.8);
  shape.mic = mic_of(seed);
  shape.ticks_a_day = static_cast<int>(2000 + dice.below(4000));
  return shape;
}

std::string_view word_of(Stage stage) {
  constexpr std::string_view kWords[] = {"starting", "without its journal", "running", "stopping", "over"};
  return kWords[static_cast<std::size_t>(stage)];
}

ChannelSettings channel(const std::string& name, const std::string& kind) {
  ChannelSettings settings;
  settings.name = name;
  settings.kind = kind;
  return settings;
}

}  // namespace

Episode::Episode(std::uint64_t seed, EpisodeShape shape, Tally& tally)
    : seed_(seed),
      shape_(std::move(shape)),
      tally_(tally),
      calendar_(calendar_of(seed)),
      dice_(seed, "episode"),
      starts_(seed, "starts"),
      first_(calendar_->at_or_after(Timestamp{shape_.begin.days * kDayNanos})),
      time_(first_->open - 2 * kHour),
      market_(seed, market_shape(seed)),
      disk_(shape_.folder, time_, seed, tally),
      ledger_(time_, market_, calendar_, tally),
      world_{time_, disk_, ledger_, tally_, sources_, sinks_, calendar_, make_settings(), seed},
      people_(seed, ledger_, tally_) {
  sources_.push_back(std::make_unique<Source>("first", time_, market_, seed, tally));
  if (world_.settings.feeds.size() > 1)
    sources_.push_back(std::make_unique<Source>("second", time_, market_, seed, tally));
  for (const auto& source : sources_) source->set_behind(behind());
  ledger_.set_behind(behind(), shape_.faults);
  for (const ChannelSettings& one : world_.settings.channels) {
    sinks_.push_back(std::make_unique<Sink>(one.name, time_, seed, tally));
    sinks_.back()->set_faults(shape_.faults);
    sinks_.back()->on_message = [this](const Sink& sink, const Message& message) {
      const bool trouble = seen_ != nullptr && !seen_->house().snapshot().journal_trouble.empty();
      ledger_.on_message(sink, message, trouble);
    };
    sinks_.back()->on_arrival = [this](const Sink& sink, const NoticeRecord& record) {
      ledger_.on_arrival(sink, record);
    };
  }
  disk_.set_faults(shape_.faults);
}

/// As sources of delayed data are: five minutes, about a quarter of an hour, an hour.
Nanos Episode::behind() const {
  if (shape_.minutes_behind) return *shape_.minutes_behind * kMinute;
  Dice dice(seed_, "behind");
  return dice.chance(0.25) ? std::array{5, 16, 60}[dice.below(3)] * kMinute : 0;
}

Settings Episode::make_settings() const {
  Dice dice(seed_, "settings");
  Settings settings;
  settings.watches = market_.watches();
  settings.session.calendar = mic_of(seed_);
  settings.market.trend = Trend::up;
  settings.history.learned = disk_.learned_path();
  FeedSettings first;
  first.name = "first";
  first.kind = "stream";
  first.conditions = "cts";
  settings.feeds.push_back(first);
  if (dice.chance(0.5)) {
    FeedSettings second = first;
    second.name = "second";
    second.standby_for = "first";
    settings.feeds.push_back(second);
  }
  settings.channels = {channel("desk", "desktop"), channel("mail", "email"), channel("hook", "webhook"),
                       channel("shell", "command")};
  settings.channels[1].per_minute = static_cast<int>(1 + dice.below(30));
  settings.channels[2].until_acknowledged = dice.chance(0.5);
  settings.channels[3].kinds = {NoticeKind::crossed, NoticeKind::opened_over, NoticeKind::left_range,
                                NoticeKind::fell_under, NoticeKind::self_check};
  return settings;
}

EpisodeResult Episode::run() {
  const Timestamp begin = time_.truth();
  quiet_until_ = first_->open - 22 * kMinute;
  start();
  const Session* session = first_;
  for (int i = 0; i < shape_.sessions && session != nullptr; ++i) {
    this->session(*session);
    const Session* const next = calendar_->at_or_after(session->close + kHour);
    if (next != nullptr && i + 1 < shape_.sessions) night(*session, *next);
    session = next;
    if (!ledger_.troubles().empty()) break;
  }
  come_to_rest();
  result_.in_all = time_.truth() - begin;
  result_.events = time_.events();
  result_.expected = ledger_.expected();
  result_.troubles = ledger_.troubles();
  life_.reset();
  return result_;
}

void Episode::start() {
  // A clock that is a day wrong when the daemon starts is the next day to it: before the first tick nothing tells the two
  // apart.
  if (time_.wrong_by() >= kDayNanos) time_.set_wrong_by(0);
  // Without its journal at the start it knows nothing of the day and says what it said before, as it announces; the
  // ledger would take that for doubles. tests/process has this case.
  if (disk_.fails()) {
    ++tally_["daemon: not started, the disk has failed"];
    return time_.after(kMinute, [this] { start(); });
  }
  if (life_ != nullptr) return;
  // Another program may have the journal's lock; longer than the daemon waits for it only while nothing trades.
  const bool quiet = time_.truth() + 3 * kMinute < quiet_until_;
  const bool late = shape_.faults && starts_.chance(quiet ? 0.8 : 0.3);
  const Nanos answers_after = late ? starts_.span(0, (quiet ? 30 : 9) * kSecond) : kSecond / 1000;
  life_ = std::make_unique<Life>(world_, answers_after);
  seen_ = life_.get(), ++starts_made_;
  if (shape_.deaths && !at_rest_ && starts_.chance(quiet ? 0.7 : 0.3)) disturb_the_start(answers_after + 2 * kSecond);
}

/// In its first seconds it is stopped, killed, or told to read its files again, whatever it is doing then.
void Episode::disturb_the_start(Nanos within) {
  time_.after(starts_.span(0, within), [this, mine = starts_made_] {
    if (life_ == nullptr || mine != starts_made_) return;
    switch (starts_.below(3)) {
      case 0:
        ++tally_["reload: while " + std::string(word_of(life_->stage()))];
        return life_->reload(files_now());
      case 1:
        return restart_gracefully();
      default:
        return end_life();
    }
  });
}

void Episode::session(const Session& session) {
  if (session.half_day) ++tally_["day: half day"];
  if (calendar_->offset(session.open) != calendar_->offset(session.open - 4 * kDayNanos))
    ++tally_["day: first after a change of the clocks"];
  market_.forget_prints();
  std::vector<Tick> ticks = market_.day(session);
  result_.ticks += ticks.size();
  time_.run_until(std::max(time_.truth(), session.open - 20 * kMinute));
  for (const auto& source : sources_) source->begin_day(session, ticks, shape_.faults);
  now_in_ = &session;
  if (shape_.faults) plan_faults(session);
  let_people_answer(session);
  for (Timestamp t = session.open; t < session.close + kHour + behind(); t = t + kMinute) {
    time_.run_until(t);
    look_at_silence();
  }
  now_in_ = nullptr;
  for (const auto& source : sources_) source->end_faults();
  disk_.heal();
  time_.set_wrong_by(0);
  start();
  time_.run_until(session.close + 2 * kHour + behind());
  if (const auto journal = disk_.open(false)) ledger_.check_journal(**journal);
  else ledger_.fail("the journal does not open: " + journal.error().text);
  ++result_.sessions;
  if (shape_.on_session) shape_.on_session(result_.sessions, session.day, *life_);
  result_.in_session += session.close - session.open;
}

void Episode::look_at_silence() {
  if (life_ == nullptr || now_in_ == nullptr || life_->stage() == Stage::starting) return;
  ledger_.check_silence(now_in_->is_open(time_.truth()), life_->since(), now_in_->open);
}

void Episode::some_time_in(const Session& session, double per_day, const std::function<void()>& what) {
  for (Nanos at = dice_.wait(per_day); at < session.close - session.open; at += dice_.wait(per_day))
    time_.at(session.open + at, [this, what] {
      if (life_ != nullptr) what();
    });
}

void Episode::plan_faults(const Session& session) {
  if (shape_.deaths) {
    some_time_in(session, 0.8, [this] { die(false); });
    some_time_in(session, 0.3, [this] { die(true); });
    some_time_in(session, 0.5, [this] { restart_gracefully(); });
  }
  some_time_in(session, 1.0, [this] {
    if (life_->stage() != Stage::starting) disk_.fail_for(dice_.log_span(kSecond / 10, 30 * kMinute));
  });
  some_time_in(session, 0.7, [this] { wrong_clock(); });
  some_time_in(session, 1.5, [this] { reload(); });
  some_time_in(session, 4.0, [this] { acknowledge(); });
}

void Episode::die(bool power_loss) {
  if (time_.truth() - life_->since() < kMinute) return;
  ++tally_[power_loss ? "daemon: power loss" : "daemon: killed"];
  life_->kill(power_loss);
  life_.reset(), seen_ = nullptr;
  time_.after(dice_.log_span(kSecond / 5, 20 * kMinute), [this] { start(); });
}

void Episode::end_life() {
  ++tally_["daemon: killed while " + std::string(word_of(life_->stage()))];
  life_->kill(starts_.chance(0.3));
  life_.reset(), seen_ = nullptr;
  time_.after(starts_.span(kSecond, 20 * kSecond), [this] { start(); });
}

/// Time goes on while it ends; nothing else may reach for it meanwhile, but a reload that comes too late and whatever
/// kills it.
void Episode::restart_gracefully() {
  ++tally_["daemon: stopped while " + std::string(word_of(life_->stage()))];
  const auto ending = std::move(life_);
  std::optional<Nanos> killed_after;
  if (starts_.chance(0.3)) killed_after = starts_.span(0, kSecond / 5);
  if (starts_.chance(0.3)) {
    time_.after(starts_.span(0, kSecond / 10), ending->while_it_lives([this, life = ending.get()] {
      ++tally_["reload: while stopping"];
      life->reload(files_now());
    }));
  }
  if (!ending->stop(killed_after)) {
    ++tally_["daemon: killed while stopping"];
    ending->kill(starts_.chance(0.3));
  }
  seen_ = nullptr;
  time_.after(dice_.log_span(kSecond, 10 * kMinute), [this] { start(); });
}

void Episode::wrong_clock() {
  static constexpr Nanos kSteps[] = {kHour, -kHour, kSecond, -kSecond, 90 * kSecond, -90 * kSecond, kDayNanos};
  ++tally_["clock: set wrong, and right again"];
  const Nanos step = kSteps[dice_.below(std::size(kSteps))];
  // As at the start: by a day it is the next day to a daemon that has heard nothing.
  const bool heard = life_->stage() != Stage::starting && life_->house().snapshot().ticks > 0;
  time_.set_wrong_by(step < kDayNanos || heard ? step : kHour);
  time_.after(dice_.log_span(kSecond, kHour), [this] { time_.set_wrong_by(0); });
}

void Episode::reload() { life_->reload(files_now()); }

Loaded Episode::files_now() {
  Loaded loaded;
  loaded.settings = world_.settings;
  switch (dice_.below(4)) {
    case 0:
      ++tally_["reload: refused"];
      loaded.problems.push_back({});
      loaded.problems.front().text = "an invented error";
      break;
    case 1:
      ++tally_["reload: a channel is set up anew"];
      for (ChannelSettings& one : world_.settings.channels) {
        if (dice_.chance(0.5)) one.per_minute = static_cast<int>(1 + dice_.below(60));
      }
      loaded.settings = world_.settings;
      break;
    case 2:
      ++tally_["reload: the market turns"];
      world_.settings.market.trend = dice_.chance(0.6) ? Trend::down : Trend::up;
      world_.settings.market.when_down = dice_.chance(0.6) ? WhenDown::hold_back : WhenDown::mark;
      loaded.settings = world_.settings;
      break;
    default:
      ++tally_["reload: nothing has changed"];
  }
  return loaded;
}

/// From before the open until after the close.
void Episode::let_people_answer(const Session& session) {
  const Nanos end = session.close - session.open + kHour;
  for (Nanos at = people_.wait() - 15 * kMinute; at < end; at += people_.wait())
    time_.at(session.open + at, [this] {
      if (life_ != nullptr) people_.answer(*life_);
    });
}

/// By another process.
void Episode::acknowledge() {
  if (disk_.fails() || life_->stage() == Stage::starting) return;
  const auto latest = life_->house().snapshot().latest;
  const auto journal = disk_.open(false);
  if (latest.empty() || !journal) return;
  if ((*journal)->acknowledge(latest[dice_.below(latest.size())].id, time_.wall())) ++tally_["person: acknowledges"];
}

/// On Sunday, and again on Monday before the open: what comes of Friday then opens no session and is not told again.
void Episode::send_past_days(const Session& session, const Session& next) {
  Dice dice(seed_, ("past days " + std::to_string(session.day.days)).c_str());
  for (const Nanos before : {21 * kHour, 80 * kMinute}) {
    if (next.open - before < session.close + 8 * kHour || !dice.chance(0.7)) continue;
    time_.at(next.open - before, [this] {
      for (const auto& source : sources_) source->send_day_again();
    });
  }
}

void Episode::night(const Session& session, const Session& next) {
  const bool weekend = next.day - session.day > 1;
  send_past_days(session, next);
  if (shape_.deaths && dice_.chance(0.5)) {
    ++tally_[weekend ? "daemon: off over the weekend" : "daemon: off over night"];
    if (dice_.chance(0.5)) (void)life_->stop();
    else life_->kill(false);
    life_.reset(), seen_ = nullptr;
    time_.run_until(next.open - dice_.span(25 * kMinute, 2 * kHour));
    quiet_until_ = next.open - 22 * kMinute;
    start();
  } else if (weekend) {
    ++tally_["daemon: on over the weekend"];
  }
  time_.run_until(next.open - 21 * kMinute);
}

void Episode::come_to_rest() {
  at_rest_ = true;
  for (const auto& sink : sinks_) sink->set_faults(false);
  disk_.set_faults(false);
  disk_.heal();
  start();
  time_.run_until(time_.truth() + 3 * kHour);
  if (!ledger_.troubles().empty()) return;
  const auto journal = disk_.open(false);
  if (!journal) return ledger_.fail("the journal does not open: " + journal.error().text);
  ledger_.check_deliveries(**journal, sinks_, world_.settings.channels);
}

}  // namespace brimwatch::simulation
