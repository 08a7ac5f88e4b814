// A mute name server holds up whoever asks it for a name, and nobody else.
#include "adapters/net/name_lookup.h"

#include <gmock/gmock.h>

#include <atomic>
#include <boost/asio/io_context.hpp>
#include <future>

namespace brimwatch {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

struct Names : testing::Test {
  void run_until(std::size_t answers) {
    io.restart();
    for (int i = 0; got.size() < answers && i < 300; ++i) io.run_one_for(std::chrono::milliseconds(100));
  }
  NameLookup::Handler keep() {
    return [this](const Result<NameLookup::Addresses>& found) {
      got.push_back(found ? found->front() : found.error().text);
    };
  }
  boost::asio::io_context io{1};
  std::vector<std::string> got;
};

TEST_F(Names, OneQuestionAnswersAllWhoAskAndIsGoodForAWhile) {
  std::atomic<int> asked{0};
  NameLookup names(io, std::chrono::seconds(30), [&](const std::string&) -> Result<NameLookup::Addresses> {
    ++asked;
    return NameLookup::Addresses{"203.0.113.7"};
  });
  names.find("quotes.example", keep());
  names.find("quotes.example", keep());
  EXPECT_TRUE(got.empty());
  run_until(2);
  names.find("quotes.example", keep());
  EXPECT_EQ(got.size(), 2U) << "never from within find()";
  run_until(3);
  EXPECT_THAT(got, ElementsAre("203.0.113.7", "203.0.113.7", "203.0.113.7"));
  EXPECT_EQ(asked, 1);
}

TEST_F(Names, AMuteServerIsTold) {
  std::promise<void> release;
  NameLookup names(io, std::chrono::milliseconds(20), [wait = release.get_future().share()](const std::string&) {
    wait.wait();
    return NameLookup::Addresses{"203.0.113.7"};
  });
  names.find("quotes.example", keep());
  run_until(1);
  EXPECT_THAT(got, ElementsAre(HasSubstr("no address for quotes.example: no name server answers within")));
  release.set_value();
}

TEST_F(Names, TheSystemIsAsked) {
  NameLookup names(io, std::chrono::seconds(30));
  names.find("localhost", keep());
  run_until(1);
  EXPECT_THAT(got, ElementsAre(testing::AnyOf("127.0.0.1", "::1")));
}

TEST(Address, IsOneWithoutAsking) {
  EXPECT_TRUE(is_address("127.0.0.1"));
  EXPECT_TRUE(is_address("[::1]"));
  EXPECT_TRUE(is_address("2001:db8::7"));
  EXPECT_FALSE(is_address("localhost"));
}

}  // namespace
}  // namespace brimwatch
