// simulate_houses: two or three machines of one house on one log, in virtual time, for as many seeds as asked: the first
// minutes of a day (twenty, or as many as asked), in which machines die and stand still, disks hang, links are cut,
// answers are lost, and the log is away. Beside them stands a house alone, to which nothing happens: what it tells must
// be told by them too.
//
// Judged: every notice of a price that the house alone tells is told by one of them; what is in the log comes to its end
// in every channel; nothing comes twice but where a delivery says unknown, or what came that its machine was alone; no
// two have the right to speak at once, but alone; what people said and were told is kept is kept on every machine, in
// one order; one whose feed begins at a takeover has none while it stands by; clocks that are seconds apart are seen, and
// decide nothing; and where one machine's program is older, nothing is written that it cannot read before it has left,
// and it leads nothing that it cannot read.
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <set>
#include <string_view>

#include "houses/townspeople.h"

namespace {

using namespace brimwatch;              // NOLINT(google-build-using-namespace): this is the program
using namespace brimwatch::simulation;  // NOLINT(google-build-using-namespace)

constexpr std::size_t kBrokenMost = 10;                               ///< seeds; then no more are looked at
constexpr Nanos kHangsMost = 40 * kMinute, kLifeMost = 16 * kMinute;  // of a channel (sink.cpp); of a notice of a price

struct Day {
  std::uint64_t seed;
  std::string folder;
  Tally& tally;
  Nanos length = 20 * kMinute;
  bool trace = false;
  bool hard = true;  ///< disks hang, journals are locked, feeds are down
  /// Before the open, and after the end with all faults mended; less of both in a short day.
  [[nodiscard]] Nanos before() const { return std::min(2 * kMinute, length / 10); }
  [[nodiscard]] Nanos rest() const { return std::clamp(length / 5, kMinute, 2 * kMinute); }
  std::vector<std::string> troubles{};
  std::size_t expected = 0, told = 0;
};

/// Of each, in the middle of many seeds: with fewer, nothing much was proved.
struct Floor {
  const char* what;
  double a_seed;
};
constexpr std::size_t kManySeeds = 100;
constexpr Floor kFloors[] = {{"notice: of a price, expected", 4},
                             {"notice: told by one that was alone", 0.2},
                             {"notice: came twice, and said why", 0.2},
                             {"delivery: in the log", 30},
                             {"delivery: unknown", 0.5},
                             {"house: taken over", 0.8},
                             {"house: taken over, handed over", 0.1},
                             {"house: feed begun at a takeover", 0.2},
                             {"machine: killed", 1},
                             {"machine: killed between the log's answer and the disk's", 0.3},
                             {"machine: stands still", 0.4},
                             {"machine: its disk hangs", 0.5},
                             {"machine: its journal is read late", 0.05},
                             {"machine: its feed is down", 0.3},
                             {"link: cut", 2},
                             {"link: loses requests and answers", 0.5},
                             {"log: away for all", 0.2},
                             {"log: elects another leader", 0.5},
                             {"log: full", 0.08},
                             {"clocks: wrong", 0.15},
                             {"forms: one machine is older", 0.15},
                             {"forms: a notice in the newer one", 0.05},
                             {"person: mute", 1}};

bool is_of_a_price(NoticeKind kind) {
  return kind == NoticeKind::crossed || kind == NoticeKind::opened_over || kind == NoticeKind::left_range ||
         kind == NoticeKind::fell_under || kind == NoticeKind::loss_limit;
}

ChannelSettings channel(const char* name, const char* kind) {
  ChannelSettings settings;
  settings.name = name, settings.kind = kind, settings.per_minute = 60;
  return settings;
}

class World {
 public:
  World(Day& day, const Session& session, std::shared_ptr<const Calendar> calendar)
      : day_(day),
        dice_(day.seed, "houses"),
        hard_dice_(day.seed, "disk"),
        session_(session),
        time_(session.open - day.before()),
        market_(day.seed, {.symbols = 8, .watches = 16, .ticks_a_day = 12'000}),
        street_{time_, market_, log_, sinks_, calendar, settings(), day.tally},
        alone_street_{time_, market_, log_, perfect_, calendar, settings(), day.tally},
        people_(day.seed, {market_.names().begin(), market_.names().begin() + 2}, day.tally) {
    street_.trace = alone_street_.trace = day.trace;
    for (const char* name : {"mail", "hook"}) {
      sinks_.push_back(std::make_unique<Sink>(name, time_, day.seed, day.tally));
      perfect_.push_back(std::make_unique<Sink>(name, time_, day.seed, ignored_));
    }
    const std::size_t count = 2 + day.seed % 2;
    for (std::size_t i = 0; i < count; ++i)
      machines_.push_back(std::make_unique<Machine>(street_, kNames[i], day.folder, day.seed * 8 + i));
    const bool doors = dice_.chance(0.5);
    feeds_at_takeover_ = dice_.chance(0.25);
    for (const auto& one : machines_) {
      if (doors) one->open_door();
      if (feeds_at_takeover_) one->begin_feed_at_takeover();
    }
    set_clocks();
    set_forms();
    reference_ = std::make_unique<Machine>(alone_street_, "", day.folder, day.seed * 8 + 7);
  }

  void run() {
    const std::vector<Tick> ticks = market_.day(session_);
    reference_->source().begin_day(session_, ticks, false);
    // Of two feeds that lose different prints, counts differ: then only the log's own promises are judged.
    feeds_differ_ = dice_.chance(0.3);
    for (const auto& one : machines_) one->source().begin_day(session_, ticks, feeds_differ_);
    reference_->start();
    for (const auto& one : machines_) one->start();
    plan();
    for (const auto& sink : sinks_) {
      const bool faulty = dice_.chance(0.5);
      sink->set_faults(faulty);
      channels_fail_ = channels_fail_ || faulty;
    }
    for (Timestamp t = session_.open; t < session_.open + day_.length; t = t + kSecond / 10) {
      time_.run_until(t);
      look_at_rights();
      look_at_feeds();
      if (std::none_of(machines_.begin(), machines_.end(), [](const auto& one) { return one->hears(); })) deaf_.insert(t);
      look_at_forms();
    }
    come_to_rest();
  }

 private:
  static constexpr const char* kNames[] = {"home", "cloud", "desk"};

  Settings settings() {
    Settings to;
    to.watches = market_.watches();
    to.market.trend = Trend::up;
    to.history.learned = day_.folder + "/curves.toml";
    FeedSettings feed;
    feed.name = "first", feed.kind = "stream", feed.conditions = "cts";
    to.feeds.push_back(feed);
    to.channels = {channel("mail", "email"), channel("hook", "webhook")};
    return to;
  }

  /// In some seeds every machine's clock is wrong by some seconds of its own.
  void set_clocks() {
    Dice dice(day_.seed, "clocks");
    if (!dice.chance(0.3)) return;
    ++day_.tally["clocks: wrong"];
    for (const auto& one : machines_) one->set_clock_off(static_cast<Nanos>((dice.unit() - 0.5) * 10 * kSecond));
  }

  /// In some seeds the last machine's program is older than the others', until it is gone for so long that the others may
  /// write what it cannot read: then it begins again with the newer one.
  void set_forms() {
    Dice dice(day_.seed, "forms");
    if (!dice.chance(0.25)) return;
    ++day_.tally["forms: one machine is older"];
    for (const auto& one : machines_) one->set_forms(kSharedFormat + 1, left_after());
    older_ = machines_.back().get();
    older_->set_forms(kSharedFormat, left_after());
    time_.at(session_.open + static_cast<Nanos>(dice.unit() * static_cast<double>(day_.length) / 3),
             [this] { take_away_older(); });
  }
  [[nodiscard]] Nanos left_after() const { return day_.length / 6; }

  void take_away_older() {
    if (std::any_of(machines_.begin(), machines_.end(), [](const auto& one) { return !one->is_up(); }))
      return time_.after(kSecond, [this] { take_away_older(); });
    older_away_ = true;
    older_->kill();
    time_.after(day_.length / 3, [this] {
      older_away_ = false;
      update(*older_);
    });
  }

  void update(Machine& one) {
    one.kill();
    one.set_forms(kSharedFormat + 1, left_after());
    one.start();
  }

  Machine& any() { return *machines_[dice_.below(machines_.size())]; }

  void some_time(double per_run, const std::function<void()>& what) { some_time(dice_, per_run, what); }
  void some_time(Dice& dice, double per_run, const std::function<void()>& what) {
    const Nanos calm = std::min(3 * kMinute, day_.length / 4);
    const double in_a_session = per_run * 23'400 * static_cast<double>(kSecond) / static_cast<double>(day_.length);
    for (Nanos at = dice.wait(in_a_session); at < day_.length - calm; at += dice.wait(in_a_session))
      time_.at(session_.open + at, what);
  }

  void plan_hard() {
    some_time(hard_dice_, 1.0, [this] { hang_disk(*machines_[hard_dice_.below(machines_.size())]); });
    some_time(hard_dice_, 0.7, [this] { lose_feed(*machines_[hard_dice_.below(machines_.size())]); });
  }

  void plan() {
    if (day_.hard) plan_hard();
    some_time(1.0, [this] { kill(any()); });
    some_time(1.0, [this] {
      Machine& one = any();
      one.die_before_its_disk_answers([this, &one] {
        ++day_.tally["machine: killed between the log's answer and the disk's"];
        kill(one);
      });
    });
    some_time(1.0, [this] {
      ++day_.tally["machine: stands still"];
      any().stand_still(dice_.log_span(kSecond / 2, 30 * kSecond));
    });
    some_time(1.0, [this] { cut(any(), dice_.log_span(kSecond, 2 * kMinute)); });
    some_time(0.5, [this] {
      ++day_.tally["log: away for all"];
      const Nanos span = dice_.log_span(kSecond, 3 * kMinute);
      for (const auto& one : machines_) cut(*one, span);
    });
    some_time(1.0, [this] { lose_answers(any()); });
    some_time(1.0, [this] { elect(any()); });
    some_time(1.0, [this] {
      ++day_.tally["door: cut"];
      Machine& one = any();
      one.cut_door(true);
      time_.after(dice_.log_span(kSecond, 3 * kMinute), [&one] { one.cut_door(false); });
    });
    some_time(20.0, [this] { people_.answer_at(any()); });
    some_time(0.5, [this] {
      for (const auto& one : machines_)
        if (one->is_up() && one->role() == Role::speaking) ++day_.tally["person: hands over"], one->hand_over();
    });
    some_time(0.2, [this] {
      ++day_.tally["log: full"];
      log_.set_full(true);
      time_.after(dice_.log_span(kSecond, 2 * kMinute), [this] { log_.set_full(false); });
    });
  }

  /// One at the least goes on hearing the quotes.
  void kill(Machine& one) {
    const auto up = std::count_if(machines_.begin(), machines_.end(), [](const auto& other) { return other->is_up(); });
    if (!one.is_up() || up < static_cast<std::ptrdiff_t>(machines_.size())) return;
    ++day_.tally["machine: killed"];
    one.kill();
    time_.after(dice_.log_span(kSecond, 3 * kMinute), [this, &one] {
      if (&one != older_ || !older_away_) one.start();
    });
  }

  /// The others hear on.
  void lose_feed(Machine& one) {
    ++day_.tally["machine: its feed is down"];
    street_.say(one.name(), "its feed is down");
    one.source().go_down(hard_dice_.log_span(kSecond, 2 * kMinute));
  }

  /// In every second it is killed while it hangs, and its journal may be locked when it starts again.
  void hang_disk(Machine& one) {
    ++day_.tally["machine: its disk hangs"];
    const Nanos span = hard_dice_.log_span(kSecond / 2, 30 * kSecond);
    one.hang_disk(span);
    if (!hard_dice_.chance(0.5)) return;
    if (hard_dice_.chance(0.5)) one.lock_journal(hard_dice_.log_span(kSecond, 4 * kMinute));
    time_.after(static_cast<Nanos>(hard_dice_.unit() * static_cast<double>(span)), [this, &one] { kill(one); });
  }

  /// The log's own leader is gone, with the machine that it was on: nobody is answered until another is elected.
  void elect(Machine& gone) {
    ++day_.tally["log: elects another leader"];
    if (dice_.chance(0.5)) kill(gone);
    else cut(gone, dice_.log_span(kSecond, 2 * kMinute));
    const Nanos span = dice_.log_span(kSecond / 2, 4 * kSecond);
    for (const auto& one : machines_)
      if (one.get() != &gone) cut(*one, span);
    log_.advance(time_.steady());
    log_.hold_leases(true);
    time_.after(span, [this] { log_.advance(time_.steady()), log_.elect(), log_.hold_leases(false); });
  }

  void cut(Machine& one, Nanos span) {
    ++day_.tally["link: cut"];
    street_.say(one.name(), "is cut off from the log");
    one.link().cut = true;
    time_.after(span, [&one] { one.link().cut = false; });
  }

  void lose_answers(Machine& one) {
    ++day_.tally["link: loses requests and answers"];
    one.link().fate = [this](const LogRequest&) {
      const double fate = dice_.unit();
      return fate < 0.15   ? test::FakeLink::Fate::lost_after
             : fate < 0.25 ? test::FakeLink::Fate::lost_before
                           : test::FakeLink::Fate::arrives;
    };
    time_.after(dice_.log_span(kSecond, kMinute), [&one] { one.link().fate = {}; });
  }

  void look_at_rights() {
    int rights = 0;
    for (const auto& one : machines_)
      if (one->has_right() && one->role() != Role::alone) ++rights;
    if (rights > 1) fail("two have the right to speak");
  }

  /// While another speaks, one whose feed begins at a takeover has none.
  void look_at_feeds() {
    for (const auto& one : machines_) {
      const bool quiet = one->is_up() && (one->role() == Role::standing_by || one->role() == Role::joining);
      if (one->feed_at_takeover() && quiet && one->has_feed()) fail(one->name() + " stands by and has a feed");
    }
  }

  /// What has been written since the last look, and whether the older machine could read it.
  void look_at_forms() {
    constexpr Nanos kReadAtLeast = 11 * kSecond;  // so often, by who leads
    if (older_ == nullptr) return;
    const bool seen = log_.find("brimwatch/mine/member/" + older_->name()) != nullptr;
    if (seen || older_seen_ == Timestamp{}) older_seen_ = time_.truth();
    LogRequest request;
    request.ranges.push_back({"brimwatch/mine/notice/", "brimwatch/mine/notice0", forms_read_ + 1});
    const LogAnswer answer = log_.decide(request);
    forms_read_ = answer.revision;
    for (const LogEntry& entry : answer.pages[0].entries) {
      if (notice_from(entry.value, kSharedFormat)) continue;
      ++day_.tally["forms: a notice in the newer one"];
      newer_written_ = true;
      if (older_->reads() == kSharedFormat && time_.truth() - older_seen_ < left_after() - kReadAtLeast)
        fail(older_->name() + " has not left, and cannot read " + entry.key);
    }
    const bool reads_it = older_->reads() > kSharedFormat || !newer_written_;
    look_at_older(reads_it);
  }

  /// Cut off for longer than the others wait: it finds what it cannot read, says so, and is brought up to date.
  void look_at_older(bool reads_it) {
    if (reads_it || !older_->is_up() || older_->link().cut) return;
    if (older_->has_right() && older_->role() != Role::alone) fail(older_->name() + " leads, and cannot read the log");
    if (std::exchange(older_stranded_, true)) return;
    ++day_.tally["forms: cut off for long, and brought up to date"];
    time_.after(10 * kSecond, [this] { update(*older_); });
  }

  void come_to_rest() {
    for (const auto& sink : sinks_) sink->set_faults(false);
    for (const auto& one : machines_) {
      one->link().cut = false, one->link().fate = {};
      one->cut_door(false);
      one->source().end_faults();
      one->mend_disk();
      one->start();
    }
    log_.set_full(false);
    time_.run_until(time_.truth() + day_.rest());
    const auto keep_all = [this] {
      return std::all_of(machines_.begin(), machines_.end(), [](const auto& one) { return one->has_kept_all(); });
    };
    // A locked journal is asked for again after a minute at the latest.
    for (int i = 0; i < 3 && !keep_all(); ++i) time_.run_until(time_.truth() + kMinute);
    // A channel may hang with a message in hand, or have asked to be left alone for long; then a message's life ends it.
    const Timestamp most = time_.truth() + (channels_fail_ ? kHangsMost + kLifeMost : 0);
    while (time_.truth() < most && !open_in_log().empty()) time_.run_until(time_.truth() + kMinute);
    check();
  }

  [[nodiscard]] std::vector<std::string> open_in_log() const {
    std::vector<std::string> open;
    for (const LogEntry& entry : log_.all()) {
      if (entry.key.find("/delivery/") == std::string::npos) continue;
      const auto read = delivery_from(entry.value, kSharedFormat);
      if (read && !read->row.done.is_set())
        open.push_back("still " + std::string(to_string(read->row.state)) + ": " + entry.key + " " + entry.value);
    }
    return open;
  }

  void check() {
    std::map<std::string, NoticeRecord> told;
    std::map<std::string, int> unknowns;  // by channel and id, of whichever machine
    std::set<std::string> ended;          // the same
    for (const auto& machine : machines_) gather(*machine, told, unknowns, ended);
    check_ends(told, ended);
    day_.told = told.size();
    for (const auto& sink : sinks_) {
      for (const auto& [id, arrivals] : sink->arrivals()) {
        const int allowed = 1 + arrivals.unsure + unknowns[sink->name() + id] + arrivals.alone;
        if (arrivals.alone > 0) ++day_.tally["notice: told by one that was alone"];
        if (arrivals.times > 1) ++day_.tally["notice: came twice, and said why"];
        if (arrivals.times > allowed)
          fail(sink->name() + ": " + std::to_string(arrivals.times) + " times, and nothing says why: " + id);
      }
    }
    check_log();
    check_clocks();
    for (const std::string& trouble : people_.troubles(machines_)) fail(trouble);
    // Where nobody heard the quotes for a while, what happened then is told by nobody.
    if (feeds_at_takeover_ || older_stranded_) return;
    if (!feeds_differ_) check_against_reference(told);
  }

  void gather(const Machine& machine, std::map<std::string, NoticeRecord>& told, std::map<std::string, int>& unknowns,
              std::set<std::string>& ended) {
    const auto journal = machine.journal();
    if (!journal) return fail(journal.error().text);
    const auto all = (*journal)->notices({});
    if (!all) return fail(all.error().text);
    for (const NoticeRecord& record : *all) {
      told.emplace(record.id, record);
      const auto rows = (*journal)->deliveries(record.id);
      for (const DeliveryRow& row : rows ? *rows : std::vector<DeliveryRow>()) {
        unknowns[row.channel + row.notice_id] += row.unknowns, day_.tally["delivery: unknown"] += row.unknowns;
        if (row.done.is_set()) ended.insert(row.channel + row.notice_id);
      }
    }
  }

  /// What some machine has kept of a price, whether the log has it or not, has come or has been given up.
  void check_ends(const std::map<std::string, NoticeRecord>& told, const std::set<std::string>& ended) {
    for (const auto& [id, record] : told) {
      if (people_.speak_of(record.symbol) || !is_of_a_price(record.notice.kind)) continue;  // it may be muted
      for (const auto& sink : sinks_)
        if (!sink->arrivals().contains(id) && !ended.contains(sink->name() + id))
          fail("in a journal, and never came to " + sink->name() + ": " + id);
    }
  }

  /// What the log has taken comes to its end.
  void check_log() {
    for (const std::string& open : open_in_log()) fail(open);
    std::size_t deliveries = 0;
    for (const LogEntry& entry : log_.all()) {
      if (entry.key.find("/delivery/") == std::string::npos) continue;
      const auto read = delivery_from(entry.value, kSharedFormat);
      if (!read) fail("unreadable: " + entry.key);
      else if (read->row.done.is_set() && read->row.state == DeliveryState::delivered && !has_come(read->row))
        fail("said to be delivered, and never came: " + entry.key);
      ++deliveries;
    }
    day_.tally["delivery: in the log"] += deliveries;
  }

  /// Clocks well beyond two seconds apart are seen, those well within them never are.
  void check_clocks() {
    for (const auto& one : machines_) {
      Nanos most = 0;
      for (const auto& other : machines_) most = std::max(most, std::abs(one->clock_off() - other->clock_off()));
      if (most > 3 * kSecond && !one->sees_clocks_apart()) fail(one->name() + " does not see that clocks are apart");
      if (most < kSecond && one->sees_clocks_apart()) fail(one->name() + " sees clocks apart that are not");
    }
  }

  /// Perhaps under another number: another machine had given it to another event.
  bool has_come(const DeliveryRow& row) {
    const std::string any = row.notice_id.substr(0, row.notice_id.rfind('/') + 1);
    for (const auto& sink : sinks_) {
      if (sink->name() != row.channel) continue;
      const auto first = sink->arrivals().lower_bound(any);
      return first != sink->arrivals().end() && first->first.starts_with(any);
    }
    return true;
  }

  /// Told by the id, or as another count of the same kind of the same watch at about that time: a watch that was taken
  /// over counts on from what its speaker had told.
  void check_against_reference(const std::map<std::string, NoticeRecord>& told) {
    const auto journal = reference_->journal();
    if (!journal) return fail(journal.error().text);
    const auto all = (*journal)->notices({});
    if (!all) return fail(all.error().text);
    for (const NoticeRecord& record : *all) {
      if (people_.speak_of(record.symbol) || !is_of_a_price(record.notice.kind) ||
          record.notice.time > session_.open + day_.length)
        continue;
      ++day_.expected, ++day_.tally["notice: of a price, expected"];
      const bool found = told.contains(record.id) || std::any_of(told.begin(), told.end(), [&](const auto& one) {
                           const Notice &a = one.second.notice, &b = record.notice;
                           return one.second.symbol == record.symbol && a.pivot == b.pivot && a.kind == b.kind &&
                                  std::abs(a.time - b.time) < 3 * kMinute;
                         });
      if (!found && was_deaf_before(record.notice.time)) ++day_.tally["notice: nobody heard the quotes just before"];
      else if (!found) fail("nobody told: " + record.id + " of " + to_rfc3339(record.notice.time));
    }
  }

  /// What happened then is told by nobody, or in other words by whoever hears the next quote.
  [[nodiscard]] bool was_deaf_before(Timestamp time) const {
    const auto after = deaf_.upper_bound(time + kSecond);
    return after != deaf_.begin() && *std::prev(after) > time - 2 * kMinute;
  }

  void fail(const std::string& what) {
    if (day_.troubles.size() < 20) day_.troubles.push_back(to_rfc3339(time_.truth()) + ": " + what);
  }

  Day& day_;
  Dice dice_, hard_dice_;  ///< apart: a day without what is hard is as it was before there was any
  Session session_;
  VirtualTime time_;
  Market market_;
  test::FakeLog log_;
  Tally ignored_;
  std::vector<std::unique_ptr<Sink>> sinks_, perfect_;
  Street street_, alone_street_;
  std::vector<std::unique_ptr<Machine>> machines_;
  std::unique_ptr<Machine> reference_;
  Townspeople people_;
  Machine* older_ = nullptr;  ///< its program is older than the others'; null: all are alike
  bool older_away_ = false, older_stranded_ = false, newer_written_ = false;
  std::set<Timestamp> deaf_;  ///< when no machine heard the quotes, every tenth of a second
  Timestamp older_seen_;      ///< when the log last had its record
  Revision forms_read_ = 0;
  bool feeds_differ_ = false, feeds_at_takeover_ = false, channels_fail_ = false;
};

void live_through(Day& day) {
  std::filesystem::remove_all(day.folder);
  std::filesystem::create_directories(day.folder);
  const auto calendar = *Calendar::load("XNYS", {});
  const Session* const session = calendar->at_or_after(Timestamp{Date::of(2023, 1, 3).days * kDayNanos});
  World(day, *session, calendar).run();
  std::filesystem::remove_all(day.folder);
}

/// What happened less often than it must have, for what is said to be shown.
bool is_too_little(const Tally& tally, std::size_t seeds) {
  bool little = false;
  for (const Floor& floor : kFloors) {
    const auto found = tally.find(floor.what);
    const double times = found == tally.end() ? 0 : static_cast<double>(found->second);
    if (seeds < kManySeeds || times >= floor.a_seed * static_cast<double>(seeds)) continue;
    std::printf("%s: %.0f times in %zu seeds, wanted %.2f a seed: this proves too little\n", floor.what, times, seeds,
                floor.a_seed);
    little = true;
  }
  return little;
}

}  // namespace

int main(int count, char** words) {
  int seeds = 20;
  bool trace = false, hard = true;
  int minutes = 20;
  std::uint64_t first = 1;
  for (int i = 1; i + 1 < count; i += 2) {
    const std::string_view word = words[i];
    if (word == "--seeds") seeds = std::atoi(words[i + 1]);
    else if (word == "--seed") first = std::strtoull(words[i + 1], nullptr, 10);
    else if (word == "--minutes") minutes = std::atoi(words[i + 1]);
    else if (word == "--trace") trace = std::atoi(words[i + 1]) != 0;
    else if (word == "--hard") hard = std::atoi(words[i + 1]) != 0;
    else return std::puts("usage: simulate_houses [--seeds N] [--seed S] [--minutes M] [--hard 0] [--trace 1]"), 2;
  }
  const std::string base = ::access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
  Tally tally;
  std::size_t expected = 0, told = 0, broken = 0;
  for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(seeds); ++seed) {
    Day day{seed, base + "/simulate-houses-" + std::to_string(::getpid()), tally, minutes * kMinute, trace, hard};
    live_through(day);
    expected += day.expected, told += day.told;
    if (day.troubles.empty()) continue;
    ++broken;
    std::printf("seed %llu: a promise is broken\n", static_cast<unsigned long long>(seed));
    for (const std::string& trouble : day.troubles) std::printf("  %s\n", trouble.c_str());
    std::printf("again: %s --minutes %d --seeds 1 --seed %llu%s\n", words[0], minutes,
                static_cast<unsigned long long>(seed), hard ? "" : " --hard 0");
    std::fflush(stdout);
    if (broken == kBrokenMost) break;
  }
  for (const auto& [what, times] : tally)
    std::printf("%8llu  %s\n", static_cast<unsigned long long>(times), what.c_str());
  if (broken > 0) return std::printf("%zu seeds of %d with a broken promise\n", broken, seeds), 1;
  if (is_too_little(tally, static_cast<std::size_t>(seeds))) return 1;
  std::printf("%d seeds; %zu notices of prices expected and told, %zu in the journals; lost 0, twice only as marked\n",
              seeds, expected, told);
  return 0;
}
