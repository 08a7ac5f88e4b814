// What is done off the loop: whoever asks is answered once, with what came of it or with the reason why nothing did.
#include "app/inside/chores.h"

#include <gmock/gmock.h>

#include <boost/asio/executor_work_guard.hpp>
#include <fstream>
#include <future>

#include "app/inside/journal_size.h"
#include "files/own_files.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;

struct ChoresTest : testing::Test {
  boost::asio::io_context io;
  Chores chores{io};
  std::vector<std::string> said;

  /// Turns the loop until something more has been said.
  void hear() {
    const std::size_t before = said.size();
    const auto guard = boost::asio::make_work_guard(io);
    io.restart();
    while (said.size() == before) ASSERT_EQ(io.run_one_for(std::chrono::seconds(30)), 1U);
  }
};

TEST_F(ChoresTest, AnAnswerComesBackToTheLoop) {
  chores.start([this]() -> Worker::Answer { return [this] { said.emplace_back("done"); }; },
               [this](const std::string& why) { said.push_back(why); });
  hear();
  EXPECT_THAT(said, ElementsAre("done"));
}

TEST_F(ChoresTest, OneMoreThanMayWaitIsRefusedInWords) {
  std::promise<void> disk;
  const std::shared_future<void> answers(disk.get_future());
  for (int i = 0; i < 10; ++i)  // one in hand at the most, and eight that wait
    chores.start([answers]() -> Worker::Answer { return answers.wait(), Worker::Answer(); },
                 [this](const std::string& why) { said.push_back(why); });
  ASSERT_FALSE(said.empty());
  EXPECT_EQ(said.front(), "too much waits for a disk that does not answer");
  disk.set_value();
}

TEST_F(ChoresTest, WhatIsShownDoesNotWaitForTheDisk) {
  std::promise<void> disk;
  const std::shared_future<void> answers(disk.get_future());
  chores.start([answers]() -> Worker::Answer { return answers.wait(), Worker::Answer(); }, [](const std::string&) {});
  chores.aside()([] {}, [this] { said.emplace_back("shown"); });
  hear();
  EXPECT_THAT(said, ElementsAre("shown"));
  disk.set_value();
}

TEST_F(ChoresTest, TheJournalIsMeasuredWithItsLogOnceAMinute) {
  const TemporaryFolder folder(std::move(*TemporaryFolder::make()));
  const std::string path = folder.path() + "/journal.db";
  std::ofstream(path) << std::string(100, 'x');
  std::ofstream(path + "-wal") << std::string(20, 'x');
  JournalSize size(chores, path);
  const auto beat = [&](Nanos at) {
    size.on_beat(at);
    chores.start([this]() -> Worker::Answer { return [this] { said.emplace_back("after it"); }; },
                 [](const std::string&) {});
    hear();
    return size.bytes();
  };
  EXPECT_EQ(beat(kSecond), 120U);
  std::ofstream(path + "-wal", std::ios::app) << std::string(5, 'x');
  EXPECT_EQ(beat(kMinute), 120U);
  EXPECT_EQ(beat(kMinute + kSecond), 125U);
}

}  // namespace
}  // namespace brimwatch
