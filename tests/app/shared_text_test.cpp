#include "app/shared_text.h"

#include <gtest/gtest.h>

#include <deque>

namespace brimwatch {
namespace {

/// The other thread, as far as a test is concerned: work waits until it is told to go on.
struct Aside {
  void operator()(std::function<void()> work, std::function<void()> then) {
    waiting.push_back([work = std::move(work), then = std::move(then)] {
      work();
      then();
    });
  }
  void go_on() {
    const auto next = std::move(waiting.front());
    waiting.pop_front();
    next();
  }
  std::deque<std::function<void()>> waiting;
};

class SharedTextTest : public ::testing::Test {
 protected:
  SharedText make(SharedText::Pace pace) {
    return SharedText(
        [this]() -> std::function<std::string()> {
          ++gathered;
          return [n = gathered] { return "text " + std::to_string(n); };
        },
        [this](auto work, auto then) { aside(std::move(work), std::move(then)); }, [this] { return now; }, pace);
  }
  SharedText::Taker into(std::vector<std::string>& taken) {
    return [&taken](const SharedText::Text& text) { taken.push_back(*text); };
  }

  Nanos now = 100 * kSecond;
  int gathered = 0;
  Aside aside;
  std::vector<std::string> got;
};

TEST_F(SharedTextTest, AThousandWhoAskMeanwhileCostOne) {
  const SharedText text = make({});
  for (int i = 0; i < 1000; ++i) text.get(into(got));
  EXPECT_EQ(gathered, 1);
  EXPECT_EQ(aside.waiting.size(), 1U);
  EXPECT_TRUE(got.empty()) << "nobody waits on the loop";
  aside.go_on();
  EXPECT_EQ(got, std::vector<std::string>(1000, "text 1"));
}

TEST_F(SharedTextTest, OnceASecondAndNotOftener) {
  const SharedText text = make({.keep = kSecond});
  text.get(into(got));
  aside.go_on();
  now += kSecond - 1;
  text.get(into(got));
  EXPECT_EQ(got.back(), "text 1");
  EXPECT_EQ(gathered, 1);
  now += 1;
  text.get(into(got));
  EXPECT_EQ(gathered, 2);
}

// Two seconds to make, asked for by six all the time: the next is begun when as much time has passed as one takes.
TEST_F(SharedTextTest, WhatTakesLongIsKeptAsLongAsItTook) {
  const SharedText text = make({.keep = kSecond});
  text.get(into(got));
  now += 2 * kSecond;
  aside.go_on();
  text.get(into(got));
  EXPECT_EQ(gathered, 2) << "as old as it took: a new one is due";
  now += 3 * kSecond;
  aside.go_on();
  EXPECT_EQ(got.back(), "text 2");
}

TEST_F(SharedTextTest, WhatCostsLittleIsAlwaysNew) {
  const SharedText text = make({.keep = kSecond, .of_cost = 20});
  text.get(into(got));
  now += kSecond / 1000;
  aside.go_on();
  now += 18 * kSecond / 1000;
  text.get(into(got));
  EXPECT_EQ(got.back(), "text 1");
  now += 2 * kSecond / 1000;
  text.get(into(got));
  aside.go_on();
  EXPECT_EQ(got.back(), "text 2");
}

TEST_F(SharedTextTest, WhatIsOldIsForgottenWhenToldSo) {
  const SharedText text = make({});
  text.get(into(got));
  aside.go_on();
  text.forget();
  text.get(into(got));
  aside.go_on();
  EXPECT_EQ(got.back(), "text 2");
}

TEST_F(SharedTextTest, WorkThatOutlivesItIsDropped) {
  {
    const SharedText text = make({});
    text.get(into(got));
  }
  aside.go_on();
  EXPECT_TRUE(got.empty());
}

}  // namespace
}  // namespace brimwatch
