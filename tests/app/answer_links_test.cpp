#include "app/answer_links.h"

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>

#include "support/sample_notice.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing_support::sample_record;

const Timestamp kSoon = *parse_rfc3339("2026-11-25T11:00:00-05:00");

std::string token_of(const MessageLink& link) { return link.url.substr(link.url.find("#answer=") + 8); }
std::string request_with(const std::string& token, const std::string& more = "") {
  return R"({"ask":"link","token":")" + token + "\"" + more + "}";
}

TEST(AnswerLinks, StandForARequestThatCountsOnce) {
  const AnswerLinks links("a key of our own");
  const auto made = links.links_of(sample_record(), "https://desk.example");
  ASSERT_EQ(made.size(), 4U);
  EXPECT_THAT(made[0].url, testing::StartsWith("https://desk.example/#answer="));
  EXPECT_EQ(made[1].words, "Mute for an hour");
  const auto mute = links.request_of(request_with(token_of(made[1])), kSoon);
  ASSERT_TRUE(mute) << mute.error().text;
  EXPECT_EQ(mute->kind, AnswerKind::mute);
  EXPECT_EQ(mute->span, "hour");
  EXPECT_EQ(mute->notice, "2026-11-25/KLVN/48.35/crossed/1");
  EXPECT_EQ(mute->id, links.request_of(request_with(token_of(made[1])), kSoon)->id);
  const auto bought = links.request_of(request_with(token_of(made[3]), R"(,"price":"48.60","shares":"200")"), kSoon);
  ASSERT_TRUE(bought);
  EXPECT_EQ(bought->price, "48.60");
  EXPECT_NE(bought->id, mute->id);
}

TEST(AnswerLinks, AreGoodForADay) {
  const AnswerLinks links("a key of our own");
  const std::string token = token_of(links.links_of(sample_record(), "https://desk.example/")[0]);
  const Timestamp made = sample_record().notice.time + sample_record().notice.age;
  EXPECT_TRUE(links.request_of(request_with(token), made + AnswerLinks::kLife - 2 * kSecond));
  const auto late = links.request_of(request_with(token), made + AnswerLinks::kLife + kSecond);
  ASSERT_FALSE(late);
  EXPECT_EQ(late.error().text, "this link has expired: it is good for a day; nothing was changed");
}

TEST(AnswerLinks, ThatWereChangedOrMadeElsewhereAreRefused) {
  const AnswerLinks links("a key of our own"), others("another key");
  const std::string token = token_of(links.links_of(sample_record(), "https://desk.example")[0]);
  for (std::size_t i = 0; i < token.size(); i += 3) {
    std::string changed = token;
    changed[i] = changed[i] == 'A' ? 'B' : 'A';
    EXPECT_FALSE(links.request_of(request_with(changed), kSoon)) << i;
  }
  EXPECT_FALSE(others.request_of(request_with(token), kSoon));
  for (const char* bad : {"", "{}", "[1]", R"({"ask":"link"})", R"({"ask":"link","token":"x"})"})
    EXPECT_FALSE(links.request_of(bad, kSoon)) << bad;
}

TEST(AnswerLinks, OnlyNoticesThatAreToldAtOnceHaveThem) {
  const AnswerLinks links("a key of our own");
  EXPECT_TRUE(links.links_of(sample_record(NoticeKind::day_end), "https://desk.example").empty());
  EXPECT_TRUE(links.links_of(sample_record(NoticeKind::self_check), "https://desk.example").empty());
}

TEST(AnswerLinks, TheKeyIsMadeOnceAndForItsOwnerAlone) {
  const std::string folder = testing::TempDir() + "/answer_links";
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  const std::string file = folder + "/answer.key";
  const auto first = AnswerLinks::open(file);
  ASSERT_TRUE(first) << first.error().text;
  const auto again = AnswerLinks::open(file);
  const std::string token = token_of(first->links_of(sample_record(), "https://desk.example")[0]);
  EXPECT_TRUE(again->request_of(request_with(token), kSoon)) << "after a restart";
  EXPECT_EQ(std::filesystem::status(file).permissions() & std::filesystem::perms::all,
            std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
  std::ofstream(file) << "no key";
  EXPECT_THAT(AnswerLinks::open(file).error().text, HasSubstr("is no key of 32 bytes"));
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace brimwatch
