// The engine against a plain second one on random tapes, and against itself: twice, in other batches, and restarted.
#include <gtest/gtest.h>

#include <set>

#include "engine/engine.h"
#include "support/how_much.h"
#include "support/new_york.h"
#include "support/oracle.h"
#include "support/random_tape.h"
#include "volume/old_high.h"

namespace brimwatch::test {
namespace {

struct CollectLines : NoticeSink {
  std::vector<std::string> said;
  std::set<std::string>* ids = nullptr;  ///< where set: no notice may have the id of another
  void on_notice(Notice&& notice) override {
    said.push_back(Oracle::line_of(notice));
    if (ids == nullptr) return;
    const std::string id =
        notice_id(notice.day, std::to_string(notice.watch), notice.pivot, notice.kind, notice.count + notice.withdrawn);
    EXPECT_TRUE(ids->insert(id).second) << id << " twice";
  }
  void on_day(const DayRecord& record) override { said.push_back(Oracle::line_of(record)); }
};

/// Of every second symbol the daily highs up to yesterday are known, of the others up to the day before; all are far
/// under the pivots, so that every crossing is one of an old high.
DayPlan plan_with_highs(std::string_view symbol, std::optional<Shares> normal, const Session& session) {
  DayPlan plan = make_plan(session, {}, nullptr, normal, new_york());
  auto highs = std::make_shared<RecentHighs>();
  highs->high.fill(Price{1});
  highs->count = static_cast<int>(highs->high.size());
  highs->behind = symbol.back() % 2;
  plan.highs = highs;
  return plan;
}

PlanSource plans_for(const std::vector<Watch>& watches) {
  return [&watches](SymbolId, std::uint32_t watch, const Session& session) {
    return plan_with_highs(watches[watch].symbol, watches[watch].normal_volume, session);
  };
}

std::unique_ptr<Engine> engine_for(const RandomTape& tape, SymbolTable& symbols,
                                   const std::shared_ptr<const Calendar>& calendar) {
  EngineOptions options;
  options.extended_volume = tape.extended_volume;
  auto engine = std::make_unique<Engine>(options, symbols, plans_for(tape.watches));
  engine->set_watches(tape.watches, std::vector(tape.watches.size(), calendar));
  return engine;
}

void expect_same(const std::vector<std::string>& a, const std::vector<std::string>& b, std::uint32_t seed) {
  for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i) {
    ASSERT_EQ(a[i], b[i]) << "seed " << seed << ", notice " << i;
  }
  ASSERT_EQ(a.size(), b.size()) << "seed " << seed
                                << (a.size() > b.size() ? "\nmore: " + a[b.size()] : "\nmore: " + b[a.size()]);
}

std::string told_of(const Tick& tick) {
  return "kind " + std::to_string(static_cast<int>(tick.kind)) + " time " + std::to_string(tick.time.ns) + " price " +
         to_string(tick.price) + " size " + to_string(tick.size) + " codes " + std::string(tick.conditions.view());
}

/// Falls, rises, is held back for or not.
void turn_market(std::uint32_t dice, Engine& engine, Oracle& oracle) {
  const Trend trend = std::array{Trend::down, Trend::down, Trend::up, Trend::unknown}[dice % 4];
  const WhenDown when = std::array{WhenDown::hold_back, WhenDown::mark, WhenDown::hold_back}[dice / 4 % 3];
  engine.set_market(trend, when);
  oracle.market(trend, when);
}

class RandomTapes : public testing::TestWithParam<TapeShape> {
 protected:
  static std::shared_ptr<const Calendar> calendar() {
    static std::map<std::string, std::shared_ptr<const Calendar>> all;
    auto& one = all[GetParam().mic];
    if (one == nullptr) one = Calendar::load(GetParam().mic, {}).value();
    return one;
  }
};

TEST_P(RandomTapes, the_engine_and_the_plain_one_say_the_same) {
  std::map<std::string, int> kinds;
  for (std::uint32_t seed = 1; seed <= test::seeds_wanted(8); ++seed) {
    SymbolTable symbols;
    const RandomTape tape = random_tape(seed, GetParam(), *calendar(), symbols);
    auto engine = engine_for(tape, symbols, calendar());
    Oracle oracle(tape.watches, calendar(), symbols);
    oracle.extended_volume = tape.extended_volume;
    oracle.plan_of = plan_with_highs;
    std::set<std::string> ids;
    for (std::size_t i = 0; i < tape.ticks.size(); ++i) {
      if (GetParam().doubts && i % 150 == 149) turn_market(seed + static_cast<std::uint32_t>(i), *engine, oracle);
      CollectLines sink;
      sink.ids = &ids;
      engine->on_ticks({&tape.ticks[i], 1}, sink);
      std::vector<std::string> said;
      oracle.take(tape.ticks[i], said);
      for (const std::string& line : said) ++kinds[line.substr(0, line.find(' '))];
      ASSERT_EQ(sink.said, said) << "seed " << seed << ", tick " << i << ", " << told_of(tape.ticks[i]);
    }
  }
  // A comparison of silence proves nothing.
  std::vector<std::string> wanted{"crossed", "left-range", "fell-under", "loss-limit", "day-end"};
  if (GetParam().watches > 1) wanted.insert(wanted.end(), {"opened-over", "back-inside", "volume-arrived"});
  if (GetParam().watches >= 25 && !GetParam().kinds) wanted.emplace_back("volume-faded");
  if (GetParam().faults) wanted.insert(wanted.end(), {"halted", "resumed"});
  if (GetParam().faults && GetParam().watches > 1) wanted.emplace_back("corrected");
  for (const std::string& kind : wanted) EXPECT_GT(kinds[kind], 0) << kind;
}

/// Somebody who answers at random between two ticks.
class Answering {
 public:
  Answering(const RandomTape& tape, std::uint32_t seed) : watches_(tape.watches), random_(seed) {}

  void say(Engine& engine, Oracle& oracle, Timestamp now) {
    const std::size_t which = random_() % watches_.size();
    const Watch& watch = watches_[which];
    switch (random_() % 6) {
      case 0:
      case 1: {
        const Timestamp until = now + static_cast<Nanos>(random_() % 90) * kMinute;
        ASSERT_TRUE(engine.mute(watch.symbol, watch.pivot, until, false));
        return oracle.mute(which, until, false);
      }
      case 2:
        ASSERT_TRUE(engine.mute(watch.symbol, watch.pivot, {}, true));
        return oracle.mute(which, {}, true);
      case 3:
        ASSERT_TRUE(engine.mute(watch.symbol, watch.pivot, {}, false));
        return oracle.mute(which, {}, false);
      case 4:
        return buy(engine, oracle, which);
      default:
        return sell(engine, oracle, which);
    }
  }

  std::vector<HeldWatch> held;

 private:
  void forget(std::size_t which) {
    std::erase_if(held, [&](const HeldWatch& one) {
      return one.symbol == watches_[which].symbol && one.pivot == watches_[which].pivot;
    });
  }
  /// From far under the pivot, so that gains come, to above it, where the loss limit is near.
  void buy(Engine& engine, Oracle& oracle, std::size_t which) {
    const Watch& watch = watches_[which];
    const Price own{watch.pivot.micros * static_cast<std::int64_t>(750 + random_() % 330) / 1000};
    forget(which);
    held.push_back({watch.symbol, watch.pivot, watch.pivot, own});
    engine.set_holdings(held);
    oracle.buy(which, own);
  }
  void sell(Engine& engine, Oracle& oracle, std::size_t which) {
    forget(which);
    engine.set_holdings(held);
    oracle.sell(which);
  }

  const std::vector<Watch>& watches_;
  std::mt19937 random_;
};

/// At any moment, and with a new process in the midst of it.
TEST_P(RandomTapes, what_people_answer_means_the_same_to_both) {
  std::map<std::string, int> kinds;
  for (std::uint32_t seed = 1; seed <= test::seeds_wanted(6); ++seed) {
    SymbolTable symbols;
    const RandomTape tape = random_tape(seed, GetParam(), *calendar(), symbols);
    auto engine = engine_for(tape, symbols, calendar());
    Oracle oracle(tape.watches, calendar(), symbols);
    oracle.extended_volume = tape.extended_volume;
    oracle.plan_of = plan_with_highs;
    Answering person(tape, seed);
    for (std::size_t i = 0; i < tape.ticks.size(); ++i) {
      if (i % 23 == 0) person.say(*engine, oracle, tape.ticks[i].time);
      CollectLines sink;
      engine->on_ticks({&tape.ticks[i], 1}, sink);
      std::vector<std::string> said;
      oracle.take(tape.ticks[i], said);
      for (const std::string& line : said) {
        ++kinds[line.substr(0, line.find(' '))];
        if (line.ends_with(" muted")) ++kinds["muted"];
      }
      ASSERT_EQ(sink.said, said) << "seed " << seed << ", tick " << i << ", " << told_of(tape.ticks[i]);
    }
  }
  for (const char* kind : {"gain", "loss-limit", "muted"}) EXPECT_GT(kinds[kind], 0) << kind;
}

TEST_P(RandomTapes, restarted_among_answers_it_says_the_same) {
  for (std::uint32_t seed = 1; seed <= test::seeds_wanted(2); ++seed) {
    SymbolTable symbols;
    RandomTape tape = random_tape(seed, GetParam(), *calendar(), symbols);
    std::erase_if(tape.ticks,
                  [](const Tick& tick) { return tick.received.is_set() && tick.time - tick.received >= kMinute; });
    CollectLines whole, parts;
    auto steady = engine_for(tape, symbols, calendar()), engine = engine_for(tape, symbols, calendar());
    Oracle unheard(tape.watches, calendar(), symbols);
    Answering one(tape, seed), other(tape, seed);
    for (std::size_t i = 0; i < tape.ticks.size(); ++i) {
      if (i % 23 == 0) one.say(*steady, unheard, tape.ticks[i].time), other.say(*engine, unheard, tape.ticks[i].time);
      if (i % (7 + seed) == 0) {
        auto next = engine_for(tape, symbols, calendar());
        next->set_holdings(other.held);
        next->restore(engine->watch_states(), engine->symbol_states());
        engine = std::move(next);
      }
      steady->on_ticks({&tape.ticks[i], 1}, whole);
      engine->on_ticks({&tape.ticks[i], 1}, parts);
    }
    expect_same(whole.said, parts.said, seed);
  }
}

TEST_P(RandomTapes, batches_of_any_size_say_the_same) {
  for (std::uint32_t seed = 1; seed <= test::seeds_wanted(4); ++seed) {
    SymbolTable symbols;
    const RandomTape tape = random_tape(seed, GetParam(), *calendar(), symbols);
    CollectLines whole, parts;
    engine_for(tape, symbols, calendar())->on_ticks(tape.ticks, whole);
    auto engine = engine_for(tape, symbols, calendar());
    const std::span<const Tick> ticks(tape.ticks);
    for (std::size_t at = 0, n = 1; at < ticks.size(); at += n, n = n % 97 + 1) {
      engine->on_ticks(ticks.subspan(at, std::min(n, ticks.size() - at)), parts);
    }
    expect_same(whole.said, parts.said, seed);
  }
}

/// But for how far the feed's clock is from ours, which a new process finds out anew.
TEST_P(RandomTapes, restarted_from_its_kept_state_it_says_the_same) {
  for (std::uint32_t seed = 1; seed <= test::seeds_wanted(3); ++seed) {
    SymbolTable symbols;
    RandomTape tape = random_tape(seed, GetParam(), *calendar(), symbols);
    std::erase_if(tape.ticks,
                  [](const Tick& tick) { return tick.received.is_set() && tick.time - tick.received >= kMinute; });
    CollectLines whole, parts;
    engine_for(tape, symbols, calendar())->on_ticks(tape.ticks, whole);
    auto engine = engine_for(tape, symbols, calendar());
    for (std::size_t i = 0; i < tape.ticks.size(); ++i) {
      if (i % (7 + seed) == 0) {
        auto next = engine_for(tape, symbols, calendar());
        next->restore(engine->watch_states(), engine->symbol_states());
        engine = std::move(next);
      }
      engine->on_ticks({&tape.ticks[i], 1}, parts);
    }
    expect_same(whole.said, parts.said, seed);
  }
}

/// What the journal gets is enough: a restart from the changes alone is a restart from everything.
TEST_P(RandomTapes, the_changes_handed_out_add_up_to_the_whole_state) {
  for (std::uint32_t seed = 1; seed <= test::seeds_wanted(4); ++seed) {
    SymbolTable symbols;
    const RandomTape tape = random_tape(seed, GetParam(), *calendar(), symbols);
    auto engine = engine_for(tape, symbols, calendar());
    CollectLines sink;
    std::map<std::pair<std::string, Price>, WatchState> watches;
    std::map<std::string, SymbolState> states;
    for (std::size_t i = 0; i < tape.ticks.size(); ++i) {
      engine->on_ticks({&tape.ticks[i], 1}, sink);
      if (i % 3 != 0 && i + 1 != tape.ticks.size()) continue;
      std::vector<WatchState> w;
      std::vector<SymbolState> s;
      engine->take_changed(w, s);
      std::set<std::pair<std::string, Price>> each;
      for (const WatchState& state : w) EXPECT_TRUE(each.emplace(state.symbol, state.pivot).second) << "handed out twice";
      for (const WatchState& state : w) watches[{state.symbol, state.pivot}] = state;
      for (const SymbolState& state : s) states[state.symbol] = state;
      for (const SymbolState& state : engine->symbol_states())
        ASSERT_EQ(state, states[state.symbol]) << state.symbol << ", seed " << seed << ", tick " << i;
    }
    for (const WatchState& state : engine->watch_states()) {
      if (!watches.contains({state.symbol, state.pivot})) continue;  // nothing ever happened to it
      const WatchState& kept = watches[{state.symbol, state.pivot}];
      if (kept.day == state.day) EXPECT_EQ(state, kept) << state.symbol;
      else EXPECT_EQ(state.side, kept.side) << state.symbol;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Shapes, RandomTapes,
                         testing::Values(TapeShape{1, 1, 1, 1500, true}, TapeShape{3, 12, 2, 2000, true},
                                         TapeShape{2, 60, 3, 1200, true}, TapeShape{4, 20, 2, 2000, false},
                                         TapeShape{2, 24, 3, 1500, true, true}, TapeShape{3, 30, 3, 1200, false, true},
                                         TapeShape{3, 24, 4, 900, true, false, true},
                                         TapeShape{3, 20, 4, 700, true, true, true, "XLON"},
                                         TapeShape{2, 12, 3, 700, true, false, true, "XTSE"}));

}  // namespace
}  // namespace brimwatch::test
