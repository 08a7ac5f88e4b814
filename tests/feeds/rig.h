#pragma once
// What the tests of feeds share: a loop, a context that keeps its log, and a listener that keeps what it is told. Nothing
// sleeps: run_until() turns the loop until an event has come, and fails after a deadline.
#include <algorithm>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <string>
#include <vector>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"

namespace brimwatch {

class KeepingListener : public FeedListener {
 public:
  void on_ticks(std::span<const Tick> batch) override { ticks.insert(ticks.end(), batch.begin(), batch.end()); }
  void on_state(FeedState state, std::string_view text) override { states.push_back({state, std::string(text)}); }
  void on_frame(Timestamp, std::string_view bytes) override { frames.emplace_back(bytes); }

  struct State {
    FeedState state;
    std::string text;
  };
  [[nodiscard]] FeedState state() const { return states.empty() ? FeedState::stopped : states.back().state; }
  /// How often it was said to be down.
  [[nodiscard]] std::size_t downs() const {
    return static_cast<std::size_t>(
        std::count_if(states.begin(), states.end(), [](const State& one) { return one.state == FeedState::down; }));
  }
  [[nodiscard]] bool saw(FeedState wanted, std::string_view text = "") const {
    for (const auto& one : states) {
      if (one.state == wanted && one.text.find(text) != std::string::npos) return true;
    }
    return false;
  }

  std::vector<Tick> ticks;
  std::vector<State> states;
  std::vector<std::string> frames;
};

struct Rig {
  boost::asio::io_context io;
  SymbolTable symbols;
  std::vector<std::string> log;
  std::string secret = "canary-7f3a";
  double random = 0;
  KeepingListener listener;

  static Nanos steady() {
    return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch())
        .count();
  }
  static Timestamp wall() {
    return {std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::system_clock::now().time_since_epoch())
                .count()};
  }

  FeedContext context{io,
                      symbols,
                      &Rig::wall,
                      &Rig::steady,
                      [this](LogLevel, std::string_view line) { log.emplace_back(line); },
                      [this](const SecretSource&) { return Result<Secret>(Secret(std::string(secret))); },
                      [this] { return random; }};

  /// Turns the loop until `done`; the deadline is for a test that fails. It looks at least every few milliseconds, for
  /// what happens outside the loop.
  [[nodiscard]] bool run_until(const std::function<bool()>& done, std::chrono::seconds most = std::chrono::seconds(30)) {
    const auto end = std::chrono::steady_clock::now() + most;
    const auto keep_going = boost::asio::make_work_guard(io);
    io.restart();
    while (!done()) {
      if (std::chrono::steady_clock::now() > end) return false;
      io.run_one_for(std::chrono::milliseconds(5));
    }
    return true;
  }

  /// Whether the loop comes to its end by itself: nothing is left to wait for.
  [[nodiscard]] bool runs_dry(std::chrono::seconds most = std::chrono::seconds(30)) {
    io.restart();
    io.run_for(most);
    return io.stopped();
  }

  [[nodiscard]] bool logged(std::string_view text) const {
    for (const auto& line : log) {
      if (line.find(text) != std::string::npos) return true;
    }
    return false;
  }
};

}  // namespace brimwatch
