// Days that were heard, on their way into files: a disk that is slow holds no day up and loses none.
#include "app/heard_days.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <deque>
#include <filesystem>

#include "files/own_files.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

struct Heard : testing::Test {
  Heard() : folder(std::move(*TemporaryFolder::make())) { history.heard = folder.path() + "/heard"; }

  static HeardDays::Days day(const char* symbol, int day) {
    return {{symbol, DailyBar{Date::of(2026, 10, day), Price{48'000'000}, Price{49'000'000}, Price{47'000'000},
                              Price{48'500'000}, 410'000}}};
  }
  /// What the other thread has in hand is done, and its answer comes.
  void go_on() {
    const auto [job, refuse] = jobs.front();
    jobs.pop_front();
    if (const Worker::Answer answer = job()) answer();
  }
  void refuse() {
    const auto [job, refuse] = jobs.front();
    jobs.pop_front();
    refuse("the disk has not answered for two minutes");
  }
  [[nodiscard]] long rows(const std::string& symbol) const {
    const auto text = read_file(history.heard + "/" + symbol + ".csv");
    return text ? std::count(text->begin(), text->end(), '\n') - 1 : 0;
  }

  TemporaryFolder folder;
  HistorySettings history;
  std::deque<std::pair<Worker::Job, std::function<void(const std::string&)>>> jobs;
  int kept = 0;
  std::vector<std::string> troubles;
  HeardDays heard{{[this]() -> const HistorySettings& { return history; },
                   [this](Worker::Job job, const std::function<void(const std::string&)>& refuse) {
                     jobs.emplace_back(std::move(job), refuse);
                   },
                   [this] { ++kept; }, [this](const std::string& text) { troubles.push_back(text); }}};
};

TEST_F(Heard, DaysThatEndWhileTheDiskIsBusyWaitTogether) {
  for (int number = 1; number <= 20; ++number) heard.keep(day("KLVN", number));
  EXPECT_EQ(jobs.size(), 1U);
  go_on();
  ASSERT_EQ(jobs.size(), 1U) << "one lot with all the others";
  go_on();
  EXPECT_THAT(jobs, IsEmpty());
  EXPECT_EQ(rows("KLVN"), 20);
  EXPECT_EQ(kept, 2);
  EXPECT_THAT(troubles, IsEmpty());
}

TEST_F(Heard, OneFileThatCannotBeWrittenIsToldAndTheOthersAreKept) {
  std::filesystem::create_directories(history.heard + "/KLVN.csv");
  HeardDays::Days both = day("KLVN", 14);
  both.push_back(day("NIVO", 14).front());
  heard.keep(both);
  go_on();
  EXPECT_EQ(rows("NIVO"), 1);
  EXPECT_THAT(troubles, ElementsAre(HasSubstr("1 of 2 are not kept")));
}

TEST_F(Heard, WhereTheDiskDoesNotAnswerItIsToldAndTheNextAreTried) {
  heard.keep(day("KLVN", 14));
  heard.keep(day("KLVN", 15));
  refuse();
  EXPECT_THAT(troubles, ElementsAre(HasSubstr("the disk has not answered for two minutes")));
  heard.keep(day("KLVN", 16));
  go_on();
  EXPECT_EQ(rows("KLVN"), 2) << "what waited and what is new";
}

TEST_F(Heard, WhatAKilledProcessLeftIsCleared) {
  std::filesystem::create_directories(history.heard);
  ASSERT_TRUE(replace_file(history.heard + "/.KLVN.csv.a1B2c3", "half a ro"));
  heard.keep(day("NIVO", 14));
  go_on();
  EXPECT_FALSE(is_there(history.heard + "/.KLVN.csv.a1B2c3"));
}

}  // namespace
}  // namespace brimwatch
