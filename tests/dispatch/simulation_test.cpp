// A dispatcher under virtual time and one seed, with channels that hang, refuse and lose, and a program that is killed
// and started again from its rows: whatever happens, every delivery ends, ids stay, and the order of a symbol holds.
#include <cstdlib>
#include <random>

#include "desk.h"
#include "support/how_much.h"

namespace brimwatch {
namespace {

using desk::Desk;

struct World {
  std::mt19937_64 random;
  desk::Rows rows;
  std::map<std::string, NoticeRecord> records;
  std::vector<std::string> order;
  std::map<std::pair<std::string, std::string>, int> arrived;  ///< (channel, notice) -> times the other side got it
  std::map<std::pair<std::string, std::string>, std::string>
      last;  ///< (channel, symbol) -> last notice that arrived first
  Timestamp now = desk::kTen;

  bool chance(int percent) { return static_cast<int>(random() % 100) < percent; }
};

std::vector<ChannelPlan> plans() {
  auto hook = desk::plan("hook");
  hook.id_aware = true;
  hook.per_minute = 6;
  auto mail = desk::plan("mail");
  mail.quiet_from_minute = 16 * 60, mail.quiet_to_minute = 17 * 60, mail.urgent_passes = false;
  return {hook, mail};
}

/// Rows first, as the journal does; a notice's rows are pending from the moment it is written.
void write_some(World& world, Dispatcher& dispatcher, int& number) {
  const int count = world.chance(3) ? 40 : world.chance(30) ? 1 : 0;
  for (int i = 0; i < count; ++i, ++number) {
    const auto kind = static_cast<NoticeKind>(world.random() % kNoticeKinds);
    const auto record = desk::notice("S" + std::to_string(world.random() % 7), kind, world.now, number);
    world.records[record.id] = record;
    world.order.push_back(record.id);
    for (const std::string& channel : dispatcher.recipients()(record)) {
      world.rows[{record.id, channel}] = {.notice_id = record.id, .channel = channel};
    }
    dispatcher.on_written(record, world.now);
  }
}

void keep(World& world, Dispatcher& dispatcher) {
  for (DeliveryRow& row : dispatcher.take_changes()) {
    ASSERT_TRUE(world.rows.contains({row.notice_id, row.channel})) << "only what is in the journal is sent";
    const DeliveryRow& before = world.rows[{row.notice_id, row.channel}];
    EXPECT_FALSE(before.done.is_set()) << row.notice_id << " had ended";
    EXPECT_GE(row.attempts, before.attempts);
    EXPECT_GE(row.unknowns, before.unknowns);
    world.rows[{row.notice_id, row.channel}] = row;
  }
}

void arrive(World& world, const Send& send) {
  for (const NoticeRecord& record : send.message.notices) {
    if (world.arrived[{send.channel, record.id}]++ > 0) continue;
    std::string& last = world.last[{send.channel, record.symbol}];
    if (!last.empty()) {
      const auto place = [&](const std::string& id) { return std::find(world.order.begin(), world.order.end(), id); };
      EXPECT_LT(place(last), place(record.id)) << "order of " << record.symbol << " through " << send.channel;
    }
    last = record.id;
  }
}

Delivery answer(World& world, const Send& send, int bad) {
  if (!world.chance(bad)) {
    arrive(world, send);
    return {Outcome::delivered, "ok", {}};
  }
  switch (world.random() % 4) {
    case 0:
      arrive(world, send);
      return {Outcome::unknown, "closed", {}};
    case 1:
      return {Outcome::unknown, "closed early", {}};
    case 2:
      return {Outcome::retry, "busy", world.chance(20) ? std::optional(std::chrono::seconds{30}) : std::nullopt};
    default:
      return world.chance(20) ? Delivery{Outcome::dead, "no", {}} : Delivery{Outcome::retry, "down", {}};
  }
}

std::vector<OpenDelivery> open_rows(const World& world) {
  std::vector<OpenDelivery> open;
  for (const std::string& id : world.order) {
    for (const char* channel : {"hook", "mail"}) {
      const auto row = world.rows.find({id, channel});
      if (row != world.rows.end() && !row->second.done.is_set()) open.push_back({row->second, world.records.at(id)});
    }
  }
  return open;
}

void simulate(std::uint64_t seed) {
  SCOPED_TRACE("seed " + std::to_string(seed));
  World world{.random = std::mt19937_64(seed), .rows = {}, .records = {}, .order = {}, .arrived = {}, .last = {}};
  auto dispatcher = std::make_unique<Dispatcher>(plans(), seed);
  std::vector<Send> in_flight;
  int number = 1, bad = 30;
  for (int step = 0; step < 1500 && !testing::Test::HasFailure(); ++step) {
    if (step % 200 == 0) bad = static_cast<int>(world.random() % 3) * 45;
    if (step < 1000) write_some(world, *dispatcher, number);
    for (Send& send : dispatcher->due(world.now)) {
      EXPECT_LE(send.message.notices.size(), kDigestMost);
      in_flight.push_back(std::move(send));
    }
    keep(world, *dispatcher);
    if (step < 1000 && world.chance(1)) {  // killed: messages that were given over arrive or not, answers are lost
      for (const Send& send : in_flight) {
        if (world.chance(50)) arrive(world, send);
      }
      in_flight.clear();
      dispatcher = std::make_unique<Dispatcher>(plans(), seed + static_cast<std::uint64_t>(step));
      dispatcher->take_up(open_rows(world), world.now);
      keep(world, *dispatcher);
    }
    for (std::size_t i = 0; i < in_flight.size();) {
      if (world.chance(40)) {
        ++i;
        continue;
      }
      const Send send = std::move(in_flight[i]);
      in_flight.erase(in_flight.begin() + static_cast<std::ptrdiff_t>(i));
      dispatcher->on_result(send.channel, send.ticket, answer(world, send, step < 1000 ? bad : 0), world.now);
      keep(world, *dispatcher);
    }
    world.now = world.now + static_cast<Nanos>(world.random() % 6) * kSecond;
    if (step > 1000 && in_flight.empty()) {
      if (const auto next = dispatcher->next_wakeup(world.now)) world.now = std::max(world.now, *next);
    }
  }
  int ended = 0;
  for (const auto& [key, row] : world.rows) {
    EXPECT_TRUE(row.done.is_set()) << key.first << " through " << key.second << " is still " << to_string(row.state);
    const int times = world.arrived[{row.channel, row.notice_id}];
    EXPECT_TRUE(times >= 1 || row.state != DeliveryState::delivered) << key.first << " is said to be delivered";
    EXPECT_TRUE(times <= 1 || row.unknowns > 0) << key.first << ": a double without an unknown outcome";
    EXPECT_TRUE(times == 0 || row.state == DeliveryState::delivered || row.state == DeliveryState::unknown) << key.first;
    ++ended;
  }
  EXPECT_GT(ended, 100);
}

/// BRIMWATCH_SEEDS asks for more; BRIMWATCH_SEED for a single one, to see it again.
TEST(Simulation, BreaksNoPromise) {
  const char* const one = std::getenv("BRIMWATCH_SEED");
  if (one != nullptr) return simulate(std::strtoull(one, nullptr, 10));
  for (std::uint64_t seed = 1; seed <= test::seeds_wanted(5) && !HasFailure(); ++seed) simulate(seed);
}

}  // namespace
}  // namespace brimwatch
