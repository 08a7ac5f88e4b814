#include "life.h"

#include <malloc.h>
#include <sqlite3.h>
#include <sys/wait.h>
#include <unistd.h>

#include <stdexcept>

#include "desk/channel_plans.h"
#include "volume/learning/learned_file.h"

namespace brimwatch::simulation {
namespace {

constexpr Nanos kBeat = 250'000'000;
constexpr Nanos kNightBeat = 5 * kSecond;  ///< nothing trades: the house may as well be slow
constexpr Nanos kDayEnd = 10 * kMinute;
constexpr Nanos kPatience = 10 * kSecond;  ///< so long the daemon waits for its journal at the start

std::size_t bytes_on_heap() {
  const struct mallinfo2 heap = ::mallinfo2();
  return heap.uordblks + heap.hblkhd;
}

}  // namespace

Life::Life(World& world, Nanos answers_after) : world_(world), since_(world.time.truth()) {
  auto desk = Desk::open(world_.settings);
  if (!desk) throw std::runtime_error("the desk does not open: " + desk.error().text);
  desk_ = desk->get();
  auto house = House::open(make_world(), std::move(*desk));
  if (!house) throw std::runtime_error("the house does not open: " + house.error().text);
  house_ = std::move(*house);
  open_journal(answers_after);
}

Life::~Life() = default;

HouseWorld Life::make_world() {
  HouseWorld world;
  world.wall = [this] { return world_.time.wall(); };
  world.steady = [this] { return world_.time.steady(); };
  world.post = [this](std::function<void()> what) { world_.time.after(0, while_it_lives(std::move(what))); };
  world.say = [](LogLevel, std::string_view) {};
  world.trouble = [](LogLevel, std::string_view) {};
  world.make_feed = [this](const FeedSettings& settings) { return make_feed(settings); };
  world.make_runner = [this](const ChannelSettings& settings,
                             MessageRunner::Done done) -> Result<std::unique_ptr<MessageRunner>> {
    for (const auto& sink : world_.sinks) {
      if (sink->name() == settings.name) return std::make_unique<SinkRunner>(*sink, world_.time, std::move(done));
    }
    return fail("no such sink");
  };
  world.save_lessons = [this](LearnedBySymbol all, std::string file) {
    if (!write_learned(file, all)) world_.ledger.fail("the lessons cannot be written");
  };
  world.record_ticks = [this](std::span<const Tick> ticks) {
    ticked_ = true;
    world_.ledger.on_lessons(desk_->histories());
    world_.ledger.on_ticks(ticks, desk_->symbols());
  };
  world.on_answer = [this](const Answer& answer) { world_.ledger.on_answer(answer); };
  world.end = [](const std::string&) {};
  world.states = {.few = 2, .part_least = 3};  // so that states of several moments are in the journal when it is killed
  world.seed = world_.seed ^ static_cast<std::uint64_t>(since_.ns);
  return world;
}

Result<std::unique_ptr<Feed>> Life::make_feed(const FeedSettings& settings) {
  for (const auto& source : world_.sources) {
    if (source->name() != settings.name) continue;
    return std::make_unique<SourceFeed>(*source, world_.time, desk_->symbols(), [this] { return world_.time.wall(); });
  }
  return fail("no such source");
}

std::function<void()> Life::while_it_lives(std::function<void()> what) const {
  return [life = std::weak_ptr<int>(alive_), what = std::move(what)] {
    if (!life.expired()) what();
  };
}

/// Off the loop, as the daemon does it: no feed waits for it longer than that.
void Life::open_journal(Nanos answers_after) {
  world_.disk.lock_for(answers_after);
  if (answers_after <= kPatience) return world_.time.after(answers_after, while_it_lives([this] { begin(); }));
  world_.time.after(kPatience, while_it_lives([this] { begin_without("no answer for 10 s"); }));
}

void Life::begin() {
  auto journal = world_.disk.open();
  auto kept = journal ? read_kept(**journal, world_.calendar->local_date(world_.time.wall()))
                      : Result<RestoredState>(tl::unexpected(journal.error()));
  if (!kept) {
    if (!world_.disk.fails()) world_.ledger.fail("the journal does not open: " + kept.error().text);
    return begin_without(kept.error().text);
  }
  is_read_ = true;
  house_->restore(std::move(*kept));
  begin_life(std::move(*journal));
}

void Life::begin_without(const std::string& trouble) {
  ++world_.tally["daemon: started without its journal"];
  house_->do_without(trouble);
  begin_life(nullptr);
}

void Life::begin_life(std::unique_ptr<Journal> journal) {
  world_.ledger.on_start();
  world_.ledger.on_market(world_.settings.market.trend, world_.settings.market.when_down);
  make_keeper(std::move(journal));
  records_ = std::make_unique<SimRecords>(world_.disk, world_.time);
  house_->start(*patient_, *records_);
  beat();
  if (auto wanted = std::exchange(wanted_, {})) reload(std::move(*wanted));
}

/// One that could not be used at the start is read before anything of this life is written to it.
Result<std::unique_ptr<Journal>> Life::open_at_last() {
  auto journal = world_.disk.open();
  if (!journal || std::exchange(is_read_, true)) return journal;
  auto kept = read_kept(**journal, world_.calendar->local_date(world_.time.wall()));
  if (!kept) return tl::unexpected(kept.error());
  world_.time.after(0, while_it_lives([this, kept = std::make_shared<RestoredState>(std::move(*kept))] {
                      house_->recover(std::move(*kept));
                    }));
  return journal;
}

PatientKeeper::World Life::world_of_patient() {
  PatientKeeper::World world;
  world.steady = [this] { return world_.time.steady(); };
  world.post = [this](std::function<void()> what) { world_.time.after(0, while_it_lives(std::move(what))); };
  world.events.on_notices = [this](std::vector<NoticeRecord> written, bool durable) {
    house_->on_written(std::move(written), durable);
  };
  world.events.on_trouble = [this](const std::string& trouble) { house_->on_journal(trouble); };
  world.events.on_recovery = [this] { house_->on_journal(""); };
  world.trouble = [](LogLevel, std::string_view) {};
  return world;
}

void Life::make_keeper(std::unique_ptr<Journal> journal) {
  patient_ = std::make_unique<PatientKeeper>(world_of_patient());
  SimKeeper::Events events;
  events.writer = patient_->events_of_keeper();
  events.writer.on_notices = [this, on = events.writer.on_notices](const std::vector<NoticeRecord>& written,
                                                                   bool durable) {
    world_.ledger.on_notices(written, durable);
    on(written, durable);
  };
  events.mark = [this] { return world_.ledger.mark(); };
  events.on_durable = [this](std::uint64_t mark) { world_.ledger.on_durable(mark); };
  keeper_ = std::make_unique<SimKeeper>(
      world_.disk, world_.time, std::move(journal), [this] { return open_at_last(); }, std::move(events));
  patient_->stand_before(*keeper_);
}

void Life::beat() {
  const Session* session = world_.calendar->of(world_.time.truth());
  const bool day = session != nullptr && world_.time.truth() > session->open - 10 * kMinute &&
                   world_.time.truth() < session->close + 30 * kMinute;
  world_.time.after(day ? kBeat : kNightBeat, while_it_lives([this] {
                      tell_day_over();
                      patient_->on_beat();
                      house_->on_beat();
                      if (++beats_ % 80 == 0) world_.ledger.check_house(*house_);
                      beat();
                    }));
}

/// In the beat that comes now the engine is told a time after which a day is over.
void Life::tell_day_over() {
  if (!ticked_) return;
  const Timestamp now = house_->engine_now();
  const Session* session = world_.calendar->of(now);
  if (session == nullptr || session->day == told_over_ || now < session->close + kDayEnd) return;
  told_over_ = session->day;
  world_.ledger.on_lessons(desk_->histories());
  world_.ledger.on_engine_time(now);
}

void Life::reload(Loaded loaded) {
  if (stage() == Stage::starting) return void(wanted_ = std::move(loaded));
  if (stage() == Stage::stopping) {
    if (house_->apply(make_ready(std::move(loaded)))) world_.ledger.fail("a reload was put in force during the end");
    return;
  }
  const MarketSettings market = loaded.settings.market;
  if (!house_->apply(make_ready(std::move(loaded)))) return;
  world_.ledger.on_reload();
  world_.ledger.on_market(market.trend, market.when_down);
}

/// In `starting` there is nothing to end yet: the daemon just goes.
bool Life::stop(std::optional<Nanos> most) {
  const Nanos begun = world_.time.steady();
  if (stage() != Stage::starting) {
    Ending ending(*house_, {[this] { return world_.time.steady(); },
                            [this](std::chrono::milliseconds longest) {
                              patient_->hand_over_all();
                              keeper_->end(std::chrono::nanoseconds(longest).count());
                              return keeper_->waiting() == 0;
                            }});
    while (!ending.step()) {
      patient_->on_beat();
      if (most && world_.time.steady() - begun >= *most) return false;
      world_.time.run_until(world_.time.truth() + std::chrono::nanoseconds(Ending::kStep).count());
    }
  }
  if (world_.time.steady() - begun > Ending::kMost) world_.ledger.fail("the end took longer than it may");
  alive_.reset();
  house_.reset(), records_.reset(), keeper_.reset(), patient_.reset();
  world_.ledger.on_crash();  // what could not be written
  return true;
}

void Life::kill(bool power_loss) {
  world_.disk.remember_for_kill();
  alive_.reset();
  house_.reset(), records_.reset(), keeper_.reset(), patient_.reset();
  world_.disk.put_back(power_loss);
  world_.ledger.on_crash();
}

/// In a copy of the process the house is taken away; what that sets free was its own.
std::size_t Life::bytes_held() {
  int ends[2];
  if (::pipe(ends) != 0) throw std::runtime_error("no pipe");
  const pid_t copy = ::fork();
  if (copy < 0) throw std::runtime_error("no fork");
  if (copy == 0) {
    const std::size_t before = bytes_on_heap();
    house_.reset();
    const std::size_t freed = before - bytes_on_heap();
    ::_exit(::write(ends[1], &freed, sizeof freed) == sizeof freed ? 0 : 1);
  }
  ::close(ends[1]);  // or a copy that dies would be waited for
  std::size_t freed = 0;
  const bool told = ::read(ends[0], &freed, sizeof freed) == sizeof freed;
  ::close(ends[0]);
  ::waitpid(copy, nullptr, 0);
  if (!told) throw std::runtime_error("the copy of the daemon has said nothing");
  return freed + static_cast<std::size_t>(::sqlite3_memory_used());
}

}  // namespace brimwatch::simulation
