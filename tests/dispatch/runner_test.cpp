#include "dispatch/runner.h"

#include <gtest/gtest.h>

#include <condition_variable>
#include <future>
#include <mutex>
#include <stdexcept>

namespace brimwatch {
namespace {

using namespace std::chrono_literals;

/// A door that a channel waits at until the test opens it; kept alive by both.
struct Door {
  std::mutex mutex;
  std::condition_variable changed;
  bool open = false, reached = false;

  void pass() {
    std::unique_lock lock(mutex);
    reached = true;
    changed.notify_all();
    changed.wait(lock, [&] { return open; });
  }
  void unlock() {
    const std::lock_guard lock(mutex);
    open = true;
    changed.notify_all();
  }
  bool wait_reached() {
    std::unique_lock lock(mutex);
    return changed.wait_for(lock, 20s, [&] { return reached; });
  }
};

class DoorChannel final : public Channel {
 public:
  explicit DoorChannel(std::shared_ptr<Door> door) : door_(std::move(door)) {}
  Delivery send(const Message& message) override {
    if (message.title == "throw") throw std::runtime_error("broken");
    door_->pass();
    return {Outcome::delivered, message.title, {}};
  }

 private:
  std::shared_ptr<Door> door_;
};

Send send_of(std::uint64_t ticket, const std::string& title) {
  Send send{"mail", ticket, {}};
  send.message.title = title;
  return send;
}

TEST(Runner, SendsOnItsOwnThreadAndReports) {
  auto door = std::make_shared<Door>();
  door->unlock();
  std::promise<std::pair<std::uint64_t, Delivery>> result;
  ChannelRunner runner(std::make_unique<DoorChannel>(door),
                       [&](const std::string&, std::uint64_t ticket, Delivery delivery) {
                         result.set_value({ticket, std::move(delivery)});
                       });
  EXPECT_TRUE(runner.submit(send_of(7, "hello")));
  const auto [ticket, delivery] = result.get_future().get();
  EXPECT_EQ(ticket, 7U);
  EXPECT_EQ(delivery.outcome, Outcome::delivered);
  EXPECT_EQ(delivery.reply, "hello");
  EXPECT_TRUE(runner.stop(20s));
  EXPECT_TRUE(runner.stop(0s)) << "a second time is fine";
  EXPECT_FALSE(runner.submit(send_of(8, "after"))) << "nothing is taken after the end";
}

TEST(Runner, BoundsItsQueueAndBlocksNobodyWhenTheOtherSideHangs) {
  auto door = std::make_shared<Door>();
  int reported = 0;
  ChannelRunner runner(std::make_unique<DoorChannel>(door),
                       [&](const std::string&, std::uint64_t, const Delivery&) { ++reported; });
  EXPECT_TRUE(runner.submit(send_of(0, "hangs")));
  ASSERT_TRUE(door->wait_reached());
  for (std::size_t i = 0; i < ChannelRunner::kQueueMost; ++i) EXPECT_TRUE(runner.submit(send_of(1, "waits")));
  EXPECT_FALSE(runner.submit(send_of(2, "too many")));
  EXPECT_FALSE(runner.stop(1ms)) << "it hangs, and is left behind";
  door->unlock();
  EXPECT_EQ(reported, 0) << "nobody is told any more";
}

TEST(Runner, TurnsAnExceptionIntoAnUnknownOutcome) {
  auto door = std::make_shared<Door>();
  std::promise<Delivery> result;
  ChannelRunner runner(std::make_unique<DoorChannel>(door), [&](const std::string&, std::uint64_t, Delivery delivery) {
    result.set_value(std::move(delivery));
  });
  EXPECT_TRUE(runner.submit(send_of(1, "throw")));
  const Delivery delivery = result.get_future().get();
  EXPECT_EQ(delivery.outcome, Outcome::unknown);
  EXPECT_NE(delivery.reply.find("broken"), std::string::npos);
  EXPECT_TRUE(runner.stop(20s));
}

}  // namespace
}  // namespace brimwatch
