// A worker that hangs holds up nobody but those who asked it, and those are told.
#include "loop/worker.h"

#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>
#include <future>
#include <string>
#include <vector>

namespace brimwatch {
namespace {

struct WorkerCase : testing::Test {
  /// Until there are so many words, or for half a minute.
  void run_until(std::size_t words) {
    io.restart();
    for (int i = 0; said.size() < words && i < 300; ++i) io.run_one_for(std::chrono::milliseconds(100));
  }
  Worker::Job says(const std::string& word) {
    return [this, word]() -> Worker::Answer { return [this, word] { said.push_back(word); }; };
  }
  Worker::Job hangs(const std::string& word) {
    return [this, word, wait = release.get_future().share()]() -> Worker::Answer {
      begun.set_value();
      wait.wait();
      return [this, word] { said.push_back(word); };
    };
  }
  Worker::Answer late(const std::string& word) {
    return [this, word] { said.push_back(word + " is late"); };
  }

  boost::asio::io_context io{1};
  std::vector<std::string> said;
  std::promise<void> release, begun;
};
using Words = std::vector<std::string>;

TEST_F(WorkerCase, AnswersInOrderOnTheLoop) {
  Worker worker(io);
  EXPECT_TRUE(worker.start(says("one"), late("one")));
  EXPECT_TRUE(worker.start(says("two")));
  EXPECT_TRUE(said.empty()) << "never from within start()";
  run_until(2);
  EXPECT_EQ(said, (Words{"one", "two"}));
  EXPECT_TRUE(worker.stop(std::chrono::seconds(10)));
}

TEST_F(WorkerCase, WhoeverWaitsTooLongIsToldOnceAndWhatWasNotBegunNeverIs) {
  Worker worker(io, {.deadline = std::chrono::milliseconds(20), .waiting_most = 2});
  EXPECT_TRUE(worker.start(hangs("hung"), late("hung")));
  EXPECT_TRUE(worker.start(says("next"), late("next")));
  run_until(2);
  EXPECT_EQ(said, (Words{"hung is late", "next is late"}));
  EXPECT_TRUE(worker.is_busy());
  release.set_value();
  while (worker.is_busy()) io.run_one_for(std::chrono::milliseconds(10));
  EXPECT_TRUE(worker.start(says("after")));
  run_until(3);
  EXPECT_EQ(said.back(), "after");
}

TEST_F(WorkerCase, MoreThanAFewAreRefused) {
  Worker worker(io, {.deadline = std::chrono::seconds(60), .waiting_most = 2});
  EXPECT_TRUE(worker.start(hangs("hung")));
  int taken = 0;
  while (taken < 10 && worker.start(says("more"))) ++taken;
  EXPECT_LE(taken, 3);
  EXPECT_GE(taken, 1);
  release.set_value();
}

TEST_F(WorkerCase, OneThatHangsIsLeftBehindAtTheEndAndSaysNothingMore) {
  auto worker = std::make_unique<Worker>(io);
  EXPECT_TRUE(worker->start(hangs("hung"), late("hung")));
  EXPECT_TRUE(worker->start(says("next"), late("next")));
  begun.get_future().wait();
  EXPECT_FALSE(worker->stop(std::chrono::milliseconds(1)));
  EXPECT_FALSE(worker->start(says("more")));
  worker.reset();
  release.set_value();
  io.restart();
  io.run();
  EXPECT_TRUE(said.empty());
}

}  // namespace
}  // namespace brimwatch
