#include "houses/machine.h"

#include <cstdio>
#include <stdexcept>

#include "journal/backlog.h"
#include "journal/patient_keeper.h"
#include "shared/may_come_twice.h"

namespace brimwatch::simulation {
namespace machine_parts {

constexpr Nanos kDisk = 3'000'000, kBeforeDisk = 1'000'000;
constexpr Nanos kHouseBeat = kSecond / 4, kSharedBeat = kSecond / 10;

/// The journal's writer at virtual instants, a few milliseconds after it was asked: what is asked and not yet written
/// when the machine dies is lost.
class StreetKeeper final : public BatchKeeper {
 public:
  StreetKeeper(std::unique_ptr<Journal> journal, Opener opener, VirtualTime& time, WriterEvents events)
      : time_(time), events_(std::move(events)) {
    BacklogWriter::World world;
    world.steady = [this] { return time_.steady(); };
    world.events = [this] { return events_; };
    world.recipients = [this] { return recipients_; };
    world.note = [this](const WriterCounters& counters, std::size_t) { counters_ = counters; };
    writer_ = std::make_unique<BacklogWriter>(std::move(journal), std::move(opener), WriterOptions{}, std::move(world));
  }
  void set_recipients(Recipients recipients) override { recipients_ = std::move(recipients); }
  std::function<void()> on_news;  ///< something that a person is to hear is handed over
  void submit(JournalBatch batch, Done done) override {
    if (on_news && (!batch.notices.empty() || !batch.answers.empty())) on_news();
    queue_.push_back({std::move(batch), std::move(done)});
    if (queue_.size() == 1) work_after(kDisk);
  }
  /// Until then it writes nothing, and reports nothing.
  void hang_until(Nanos until) { hangs_until_ = until; }
  [[nodiscard]] WriterCounters counters() const override { return counters_; }
  [[nodiscard]] std::size_t waiting() const override { return queue_.size() + (writer_->has_rest() ? 1 : 0); }

 private:
  void work() {
    const Nanos still = hangs_until_ - time_.steady();
    if (still > 0) return work_after(still);
    writer_->write(std::exchange(queue_, {}));
    if (writer_->has_rest()) work_after(writer_->next_attempt() - time_.steady());
  }
  void work_after(Nanos span) {
    time_.after(span, [this, life = std::weak_ptr<int>(life_)] {
      if (!life.expired()) work();
    });
  }

  VirtualTime& time_;
  Nanos hangs_until_ = 0;
  WriterEvents events_;
  Recipients recipients_;
  std::deque<BacklogWriter::Submission> queue_;
  WriterCounters counters_;
  std::unique_ptr<BacklogWriter> writer_;
  std::shared_ptr<int> life_ = std::make_shared<int>(0);
};

/// Brings a message to its sink while the machine may speak: looked at when it leaves and when it would arrive.
class RightRunner final : public MessageRunner {
 public:
  RightRunner(Sink& sink, Street& street, std::shared_ptr<SpeakingRight> right, std::string name, Done done)
      : sink_(sink), street_(street), right_(std::move(right)), name_(std::move(name)), done_(std::move(done)) {}
  ~RightRunner() override {
    if (in_hand_ == nullptr) return;
    sink_.note_unsure(in_hand_->send.message);
    if (in_hand_->answer.arrives && may_speak()) arrive(in_hand_->send.message);
  }
  bool submit(Send send) override {
    if (in_hand_ != nullptr || !may_speak()) return false;
    if (right_ != nullptr && right_->is_alone())
      for (NoticeRecord& record : send.message.notices) mark_as_alone(record, name_);
    Sink::Answer answer = sink_.answer(send.message);
    in_hand_ = std::make_shared<InHand>(InHand{std::move(send), std::move(answer)});
    street_.time.after(in_hand_->answer.after, [this, held = std::weak_ptr<InHand>(in_hand_)] {
      if (const auto mine = held.lock()) end(*mine);
    });
    return true;
  }
  bool stop(std::chrono::milliseconds) override { return in_hand_ == nullptr; }

 private:
  struct InHand {
    Send send;
    Sink::Answer answer;
  };
  [[nodiscard]] bool may_speak() const { return right_ == nullptr || right_->holds(street_.time.steady()); }
  void arrive(const Message& message) {
    for (const NoticeRecord& notice : message.notices) street_.say(name_, sink_.name() + " has " + notice.id);
    sink_.arrive(message);
  }
  void end(InHand mine) {
    in_hand_.reset();
    if (!may_speak()) mine.answer.arrives = false, mine.answer.delivery = {Outcome::retry, "it may not speak", {}};
    if (mine.answer.arrives) arrive(mine.send.message);
    if (mine.answer.delivery.outcome == Outcome::unknown) sink_.note_unsure(mine.send.message);
    if (done_) done_(mine.send.channel, mine.send.ticket, mine.answer.delivery);
  }

  Sink& sink_;
  Street& street_;
  std::shared_ptr<SpeakingRight> right_;
  std::string name_;
  Done done_;
  std::shared_ptr<InHand> in_hand_;
};

class NoRecords final : public Records {
 public:
  void acknowledge(const std::string&, Timestamp, std::function<void()>) override {}
  void new_acknowledgements(std::function<void(std::vector<std::string>)>) override {}
};

}  // namespace machine_parts

using namespace machine_parts;

void Street::say(const std::string& who, std::string_view what) const {
  if (!trace) return;
  std::printf("%s %s: %.*s\n", to_rfc3339(time.truth()).c_str(), who.empty() ? "the house alone" : who.c_str(),
              static_cast<int>(what.size()), what.data());
}

struct Machine::Life {
  Machine& machine;
  std::shared_ptr<int> alive = std::make_shared<int>(0);
  std::shared_ptr<SpeakingRight> right;
  Desk* desk = nullptr;
  std::unique_ptr<House> house;
  std::unique_ptr<PatientKeeper> patient;  ///< stands before the local one
  std::unique_ptr<StreetKeeper> local;
  std::unique_ptr<SharedKeeper> shared;
  NoRecords records;

  explicit Life(Machine& owner) : machine(owner) {
    Street& street = machine.street_;
    if (!machine.name_.empty()) right = std::make_shared<SpeakingRight>();
    auto opened = Desk::open(street.settings);
    if (!opened) throw std::runtime_error(opened.error().text);
    desk = opened->get();
    auto made = House::open(world_of_house(), std::move(*opened));
    if (!made) throw std::runtime_error(made.error().text);
    house = std::move(*made);
    open_journal();
    beat();
    if (right == nullptr) {
      house->start(*patient, records);
      return;
    }
    VoiceSettings settings{machine.name_, "mine"};
    settings.reads = machine.reads_, settings.left_after = machine.left_after_;
    shared = std::make_unique<SharedKeeper>(settings, *patient, machine.link_, right, hooks(), world_of_keeper());
    shared->remember(house->take_memory());
    house->start(*shared, records);
    shared_beat();
  }

  std::function<void(std::function<void()>)> later() {
    return [this](std::function<void()> what) {
      machine.street_.time.after(0, [life = std::weak_ptr<int>(alive), what = std::move(what)] {
        if (!life.expired()) what();
      });
    };
  }

  HouseWorld world_of_house() {
    Street& street = machine.street_;
    HouseWorld world;
    world.wall = [this] { return machine.wall(); };
    world.steady = [&street] { return street.time.steady(); };
    world.post = later();
    world.say = world.trouble = [this](LogLevel, std::string_view text) { machine.street_.say(machine.name_, text); };
    world.make_feed = [this](const FeedSettings&) -> Result<std::unique_ptr<Feed>> {
      Street& here = machine.street_;
      return std::make_unique<SourceFeed>(machine.source_, here.time, desk->symbols(), [this] { return machine.wall(); });
    };
    world.make_runner = [this](const ChannelSettings& settings,
                               MessageRunner::Done done) -> Result<std::unique_ptr<MessageRunner>> {
      for (const auto& sink : machine.street_.sinks)
        if (sink->name() == settings.name)
          return std::make_unique<RightRunner>(*sink, machine.street_, right, machine.name_, std::move(done));
      return fail("no such sink");
    };
    world.save_lessons = [](const LearnedBySymbol&, const std::string&) {};
    world.end = [](const std::string&) {};
    world.seed = machine.seed_;
    world.stands_by = right != nullptr;
    world.feed_at_takeover = machine.feed_at_takeover_;
    if (right != nullptr) {
      world.share = [this](const Answer& answer, std::function<void(Status)> then) {
        if (shared == nullptr) return then(fail("it begins"));
        shared->answers().give(answer, std::move(then));
      };
    }
    return world;
  }

  void open_journal() {
    auto kept = std::make_shared<RestoredState>();
    auto journal = open_and_read(*kept);
    const bool late = !journal;
    if (late) house->do_without(journal.error().text);
    else house->restore(std::move(*kept));
    patient = std::make_unique<PatientKeeper>(world_of_patient(), patience());
    local = std::make_unique<StreetKeeper>(
        late ? nullptr : std::move(*journal), [this] { return open_at_last(); }, machine.street_.time,
        patient->events_of_keeper());
    local->hang_until(machine.disk_hangs_until_);
    patient->stand_before(*local);
    local->on_news = [this] {
      if (!machine.dies_at_write_) return;
      machine.street_.time.after(kBeforeDisk, std::exchange(machine.dies_at_write_, {}));
    };
  }

  Result<std::unique_ptr<Journal>> open_and_read(RestoredState& to) {
    if (machine.street_.time.steady() < machine.no_journal_until_) return fail("another program has its lock");
    auto journal = Journal::open(machine.path_);
    if (!journal) throw std::runtime_error(journal.error().text);
    auto kept = read_kept(**journal, machine.street_.calendar->local_date(machine.wall()), right != nullptr);
    if (!kept) throw std::runtime_error(kept.error().text);
    to = std::move(*kept);
    return journal;
  }
  /// One that could not be opened at the start is read before anything of this life is written to it.
  Result<std::unique_ptr<Journal>> open_at_last() {
    auto kept = std::make_shared<RestoredState>();
    auto journal = open_and_read(*kept);
    if (!journal) return journal;
    ++machine.street_.tally["machine: its journal is read late"];
    later()([this, kept] {
      house->recover(std::move(*kept));
      if (shared != nullptr) shared->remember(house->take_memory());
    });
    return journal;
  }

  PatientKeeper::World world_of_patient() {
    PatientKeeper::World world;
    world.steady = [&time = machine.street_.time] { return time.steady(); };
    world.post = later();
    world.events.on_notices = [this](std::vector<NoticeRecord> written, bool durable) {
      if (shared != nullptr) written = shared->to_tell(std::move(written));
      house->on_written(std::move(written), durable);
    };
    world.events.on_trouble = [this](const std::string& why) { house->on_journal(why); };
    world.events.on_recovery = [this] { house->on_journal(""); };
    world.trouble = [this](LogLevel, std::string_view text) { machine.street_.say(machine.name_, text); };
    return world;
  }
  /// As the daemon's.
  [[nodiscard]] PatientKeeper::Patience patience() const {
    PatientKeeper::Patience patience;
    if (right != nullptr) patience.waits = kSecond;
    return patience;
  }

  SharedKeeper::House hooks() {
    SharedKeeper::House to;
    to.adopt = [this](const std::vector<WatchState>& watches) {
      if (machine.street_.trace)
        for (const WatchState& one : watches)
          machine.street_.say(machine.name_, "takes over " + one.symbol + " " + to_string(one.pivot) + ": " +
                                                 std::string(to_string(one.side)) + (one.armed ? ", armed" : ""));
      house->adopt(watches);
    };
    to.hear = [this](const std::vector<NoticeRecord>& notices) { house->hear(notices); };
    to.speak = to.take_up = [this](std::vector<OpenDelivery> open) { house->speak(std::move(open)); };
    to.stand_by = [this] { house->stand_by(); };
    to.give_up_number = [this](const std::string& id) { house->give_up_number(id); };
    to.acknowledge = [](const std::string&, Timestamp) {};
    to.take_answers = [this](std::vector<Answer> answers) { house->take_answers(std::move(answers)); };
    to.take_again = [this](const Answer& answer) { house->take_again(answer); };
    to.mute_again = [this](const Answer& answer) { house->mute_again(answer); };
    if (machine.feed_at_takeover_)
      to.begin_feed = [this](const std::vector<SymbolState>& symbols) {
        ++machine.street_.tally["house: feed begun at a takeover"];
        house->begin_feed(symbols);
      };
    to.took_over = [this](const Takeover& takeover) {
      ++machine.street_.tally["house: taken over" + (takeover.how.empty() ? std::string() : ", " + takeover.how)];
      house->tell_taken_over(takeover.from + " fell silent");
    };
    return to;
  }

  SharedKeeper::World world_of_keeper() {
    Street& street = machine.street_;
    SharedKeeper::World world;
    world.boot = [&street] { return street.time.steady(); };
    world.wall = [this] { return machine.wall(); };
    world.say = [this](LogLevel, std::string_view text) { machine.street_.say(machine.name_, text); };
    world.describe = [this] {
      SharedMember member{.name = {}, .version = "1"};
      member.feed = machine.feed_at_takeover_ ? "at-takeover" : "own", member.direct = machine.door_;
      member.trouble = house->unwell(), member.well = member.trouble.empty();
      return member;
    };
    world.ask_directly = [this](const std::string& address, const std::function<void(std::string)>& then) {
      ask_directly(address, then);
    };
    world.list = [] { return std::string("-"); };
    world.unheard = [this] { return house->unheard(); };
    return world;
  }

  /// There and back in a few milliseconds, or nothing for a second.
  void ask_directly(const std::string& address, const std::function<void(std::string)>& then) {
    machine.street_.time.after(3'000'000, [this, life = std::weak_ptr<int>(alive), address, then] {
      if (life.expired()) return;
      const auto there = machine.street_.doors.find(address);
      const bool answers = there != machine.street_.doors.end() && !machine.door_cut_ && !there->second->door_cut_ &&
                           !there->second->stands_still_ && there->second->life_ != nullptr;
      if (answers)
        return then(to_value(DirectAnswer{"mine", there->second->name_, std::string(to_string(there->second->role()))}));
      machine.street_.time.after(kSecond, [life, then] {
        if (!life.expired()) then("");
      });
    });
  }

  void beat() {
    machine.street_.time.after(kHouseBeat, [this, life = std::weak_ptr<int>(alive)] {
      if (life.expired()) return;
      if (!machine.stands_still_) patient->on_beat(), house->on_beat();
      beat();
    });
  }
  void shared_beat() {
    machine.street_.time.after(kSharedBeat, [this, life = std::weak_ptr<int>(alive)] {
      if (life.expired()) return;
      if (!machine.stands_still_) shared->on_beat();
      if (!shared->voice().clocks_off().empty()) machine.sees_clocks_apart_ = true;
      shared_beat();
    });
  }
};

Machine::Machine(Street& street, std::string name, std::string folder, std::uint64_t seed)
    : street_(street),
      name_(std::move(name)),
      path_(std::move(folder) + "/" + (name_.empty() ? "reference" : name_) + ".db"),
      seed_(seed),
      link_(street.log, street.time),
      source_("first", street.time, street.market, seed, street.tally) {}

Machine::~Machine() = default;

void Machine::start() {
  if (life_ != nullptr) return;
  street_.say(name_, "starts");
  life_ = std::make_unique<Life>(*this);
}

void Machine::kill() {
  if (life_ == nullptr) return;
  street_.say(name_, "is killed");
  life_->alive.reset();
  life_.reset();
}

void Machine::stand_still(Nanos span) {
  street_.say(name_, "stands still");
  stands_still_ = link_.cut = true;
  street_.time.after(span, [this] { stands_still_ = link_.cut = false; });
}

void Machine::hang_disk(Nanos span) {
  street_.say(name_, "its disk hangs");
  disk_hangs_until_ = street_.time.steady() + span;
  if (life_ != nullptr) life_->local->hang_until(disk_hangs_until_);
}

void Machine::mend_disk() {
  no_journal_until_ = disk_hangs_until_ = 0;
  if (life_ != nullptr) life_->local->hang_until(0);
}

bool Machine::has_kept_all() const { return life_ == nullptr || life_->patient->waiting() == 0; }

void Machine::hand_over() {
  if (life_ != nullptr && life_->house->is_quiet())
    life_->shared->voice().step_down("handed over", [](const std::string&) {});
}

void Machine::answer(const AnswerRequest& request, const std::function<void(std::string id)>& done) {
  if (life_ == nullptr || stands_still_) return done("");
  life_->house->answer(request, [done](const Result<AnswerDone>& said) { done(said ? said->answer.id : ""); });
}

Snapshot Machine::snapshot() const { return life_->house->snapshot(); }

void Machine::open_door() {
  door_ = "https://" + name_ + ":2390";
  street_.doors[door_] = this;
}

bool Machine::has_feed() const { return life_ != nullptr && life_->house->has_feed(); }

bool Machine::has_right() const {
  return life_ != nullptr && life_->right != nullptr && life_->right->holds(street_.time.steady());
}

Role Machine::role() const { return life_ == nullptr ? Role::joining : life_->shared->voice().role(); }

Result<std::unique_ptr<Journal>> Machine::journal() const { return Journal::open_read_only(path_, {.check = false}); }

}  // namespace brimwatch::simulation
