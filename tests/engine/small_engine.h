#pragma once
// An engine with a few watches of two symbols, some minutes into a day in New York, and what it says. SPARE is a name
// that nobody watches. Invented symbols.
#include <gtest/gtest.h>

#include <functional>
#include <memory>

#include "engine/engine.h"
#include "volume/history.h"

namespace brimwatch {

struct Collect : NoticeSink {
  std::vector<Notice> notices;
  std::vector<DayRecord> days;
  void on_notice(Notice&& notice) override { notices.push_back(std::move(notice)); }
  void on_day(const DayRecord& record) override { days.push_back(record); }
};

class SmallEngine : public testing::Test {
 protected:
  SmallEngine() { spare_ = symbols_.intern("SPARE"); }

  [[nodiscard]] std::unique_ptr<Engine> make_engine() {
    return std::make_unique<Engine>(
        EngineOptions{}, symbols_, [this](SymbolId, std::uint32_t watch, const Session& session) {
          DayPlan plan = make_plan(session, {}, nullptr, watches_[watch].normal_volume, *calendar_);
          if (change_plan_) change_plan_(plan);
          return plan;
        });
  }

  Watch& watch(const char* symbol, const char* pivot, std::int64_t normal = 1'000'000) {
    Watch made;
    made.symbol = symbol;
    made.pivot = *parse_price(pivot);
    made.normal_volume = Shares::whole(normal);
    watches_.push_back(made);
    return watches_.back();
  }
  /// Puts the watches in force.
  void begin() {
    for (Watch& one : watches_) set_levels(one);
    engine_->set_watches(watches_, std::vector(watches_.size(), calendar_));
    klvn_ = symbols_.find("KLVN"), orri_ = symbols_.find("ORRI");
  }

  /// Another engine, which knows what the first one handed out.
  void restart() {
    const auto watches = engine_->watch_states();
    const auto states = engine_->symbol_states();
    engine_ = make_engine();
    begin();
    engine_->restore(watches, states);
  }

  [[nodiscard]] const Session& session() const { return *calendar_->on(Date::of(2026, 11, 25)); }
  [[nodiscard]] Timestamp at(Nanos since_open) const { return session().open + since_open; }

  /// Each tick a second after the last, with an id of its own.
  Tick tick(TickKind kind, const char* price = "49.50", std::int64_t size = 100) {
    Tick made;
    made.kind = kind;
    made.symbol = klvn_;
    made.time = at(++seconds_ * kSecond);
    made.price = *parse_price(price);
    made.size = Shares::whole(size);
    made.exchange = 'N';
    made.id = static_cast<std::uint64_t>(seconds_);
    return made;
  }
  Tick trade(const char* price, std::int64_t size = 100) { return tick(TickKind::trade, price, size); }
  void give(const Tick& one) { engine_->on_ticks({&one, 1}, sink_); }

  [[nodiscard]] WatchView view(std::uint32_t watch = 0) const { return engine_->view(watch, at(seconds_ * kSecond)); }

  std::shared_ptr<const Calendar> calendar_ = *Calendar::load("XNYS", {});
  SymbolTable symbols_;
  std::vector<Watch> watches_;
  std::function<void(DayPlan&)> change_plan_;  ///< what the plans that are made from now on know besides
  std::unique_ptr<Engine> engine_ = make_engine();
  Collect sink_;
  SymbolId klvn_ = kNoSymbol, orri_ = kNoSymbol, spare_ = kNoSymbol;
  Nanos seconds_ = 60;
};

}  // namespace brimwatch
