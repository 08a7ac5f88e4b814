#pragma once
// One thread for one channel, so that a side that hangs holds up nobody else.
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <thread>

#include "adapters/channel.h"
#include "dispatch/dispatcher.h"

namespace brimwatch {

class ChannelRunner {
 public:
  /// Called on the channel's thread: hand it on to your own.
  using Done = std::function<void(const std::string& channel, std::uint64_t ticket, Delivery delivery)>;

  ChannelRunner(std::unique_ptr<Channel> channel, Done done);
  /// As stop() with no time at all.
  ~ChannelRunner();
  ChannelRunner(const ChannelRunner&) = delete;
  ChannelRunner& operator=(const ChannelRunner&) = delete;

  /// False when kQueueMost are waiting already, or it has been stopped. Never blocks.
  [[nodiscard]] bool submit(Send send);

  /// Lets the attempt in hand end, for so long at most; what is queued is not begun. False: it hangs; its thread is left
  /// behind and its result will not be told. A restart finds these deliveries as `sending`.
  bool stop(std::chrono::milliseconds most);

  /// The dispatcher gives one at a time; the rest is room for a try from a command.
  static constexpr std::size_t kQueueMost = 4;

 private:
  struct Shared;
  static void work(const std::shared_ptr<Shared>& shared);
  std::shared_ptr<Shared> shared_;
  std::thread thread_;
};

}  // namespace brimwatch
