#pragma once
// Carries messages to a channel: in the daemon one thread for one channel, so that a receiver that hangs holds up no
// other.
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <thread>

#include "adapters/channel.h"
#include "dispatch/dispatcher.h"

namespace brimwatch {

class MessageRunner {
 public:
  /// Called on whatever thread the sending was done: hand it on to your own.
  using Done = std::function<void(const std::string& channel, std::uint64_t ticket, Delivery delivery)>;

  virtual ~MessageRunner() = default;
  /// False when it can take no more. Never blocks.
  [[nodiscard]] virtual bool submit(Send send) = 0;
  /// Waits this long at most for the attempt in hand; queued ones are not begun. False: it hangs, and its result is lost.
  /// A restart finds these deliveries as `sending`.
  virtual bool stop(std::chrono::milliseconds most) = 0;
};

class ChannelRunner final : public MessageRunner {
 public:
  ChannelRunner(std::unique_ptr<Channel> channel, Done done);
  /// As stop() with no time at all.
  ~ChannelRunner() override;
  ChannelRunner(const ChannelRunner&) = delete;
  ChannelRunner& operator=(const ChannelRunner&) = delete;

  /// False when kQueueMost are waiting already, or it has been stopped.
  [[nodiscard]] bool submit(Send send) override;
  bool stop(std::chrono::milliseconds most) override;

  /// The dispatcher gives one at a time; the rest is room for a try from a command.
  static constexpr std::size_t kQueueMost = 4;

 private:
  struct Shared;
  static void work(const std::shared_ptr<Shared>& shared);
  std::shared_ptr<Shared> shared_;
  std::thread thread_;
};

}  // namespace brimwatch
