#pragma once
// What the tests of feeds share: a loop, a context that keeps its log, and a listener that keeps what it is told. Nothing
// sleeps: run_until() turns the loop until an event has come, and fails after a deadline.
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
                      [this](const SecretSource&) { return Result<std::string>(secret); },
                      [this] { return random; }};

  [[nodiscard]] bool run_until(const std::function<bool()>& done, std::chrono::seconds most = std::chrono::seconds(30)) {
    const auto end = std::chrono::steady_clock::now() + most;
    io.restart();
    while (!done()) {
      const auto left = end - std::chrono::steady_clock::now();
      if (left <= std::chrono::seconds(0)) return false;
      if (io.run_one_for(left) == 0 && io.stopped()) return done();
    }
    return true;
  }

  [[nodiscard]] bool logged(std::string_view text) const {
    for (const auto& line : log) {
      if (line.find(text) != std::string::npos) return true;
    }
    return false;
  }
};

}  // namespace brimwatch
