#include "journal/print.h"

#include <gmock/gmock.h>

#include "core/text/text.h"
#include "sample.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

TEST(PrintedJournal, FitsEightyColumns) {
  std::vector<std::string> lines{table_head(sample::kDay)};
  for (int kind = 0; kind < kNoticeKinds; ++kind) {
    auto record = sample::notice(1, sample::kDay, static_cast<NoticeKind>(kind));
    record.symbol = "LONGESTNAME.WITH.MORE";
    record.title = std::string(200, 'x');
    record.notice.price = record.notice.pivot = Price{98'765'432'100};
    record.notice.volume.surge = -1234;
    lines.push_back(table_row(record));
    record.notice.price = record.notice.pivot = Price{98'765'430'000};
    record.notice.volume.weight = Weight::unsettled;
    lines.push_back(table_row(record));
    record.notice.volume.why_not = NoJudgement::no_normal;
    lines.push_back(table_row(record));
  }
  for (std::string line : lines) {
    if (const auto cut = line.find('\n'); cut != std::string::npos) line = line.substr(cut + 1);
    EXPECT_LE(length_of(line), 80U) << line;
    EXPECT_EQ(line.find('\n'), std::string::npos) << line;
  }
}

TEST(PrintedJournal, ReadsLikeATable) {
  EXPECT_EQ(table_head(sample::kDay),
            "2026-11-25, Wednesday\n"
            "TIME      SYMBOL   WHAT               PRICE      PIVOT    SURGE  ODDS");
  EXPECT_EQ(table_row(sample::notice(1)), "10:00:01  KLVN     crossed            48.41      48.35    +78 %  0.30 heavy");
  EXPECT_EQ(table_row(sample::notice(2, sample::kDay, NoticeKind::left_range)),
            "10:00:02  KLVN     left-range         48.41      48.35");
  auto feed = sample::notice(3, sample::kDay, NoticeKind::feed_silent);
  feed.notice.price = {}, feed.title = "Feed main is silent";
  EXPECT_EQ(table_row(feed), "10:00:03  KLVN     feed-silent    Feed main is silent");
}

TEST(PrintedJournal, SaysTheOddsOfWhatWasJudged) {
  std::vector<std::string> judged;
  for (int kind = 0; kind < kNoticeKinds; ++kind) {
    const auto record = sample::notice(1, sample::kDay, static_cast<NoticeKind>(kind));
    if (table_row(record).ends_with("+78 %  0.30 heavy")) judged.emplace_back(to_string(record.notice.kind));
  }
  EXPECT_THAT(judged, testing::ElementsAre("crossed", "opened-over", "volume-arrived", "volume-faded", "day-end"));
}

TEST(PrintedJournal, CannotBeSteeredByHostileText) {
  auto record = sample::notice(1, sample::kDay, NoticeKind::feed_late);
  record.notice.price = {};
  record.symbol = "\x1b[2J", record.title = "a\r\nb\x1b]0;x\x07";
  EXPECT_THAT(table_row(record), testing::Not(testing::AnyOf(HasSubstr("\x1b"), HasSubstr("\n"), HasSubstr("\r"))));
  const DeliveryRow row{.notice_id = "i\"d", .channel = "\x1b[1m", .reply = "250 ok\r\n\x1b[2J"};
  EXPECT_THAT(delivery_line(row, {}), testing::Not(testing::AnyOf(HasSubstr("\x1b"), HasSubstr("\r"))));
}

TEST(PrintedJournal, TellsWhatBecameOfADelivery) {
  const auto offset = std::chrono::hours{-5};
  const Timestamp at = sample::notice(1).notice.time;
  const DeliveryRow done{.notice_id = "n",
                         .channel = "mail",
                         .state = DeliveryState::delivered,
                         .attempts = 2,
                         .unknowns = 1,
                         .done = at,
                         .reply = "250 taken"};
  EXPECT_EQ(delivery_line(done, offset),
            "          mail           delivered 10:00:01 2 attempts, 1 of unknown outcome;\n"
            "                         250 taken");
  const DeliveryRow next{.notice_id = "n", .channel = "hook", .attempts = 1, .next = at, .digest = "d", .reply = "503"};
  EXPECT_EQ(delivery_line(next, offset), "          hook           pending   next 10:00:01 1 attempt; 503");
  EXPECT_EQ(to_json(next, offset),
            R"({"delivery_of":"n","channel":"hook","state":"pending","attempts":1,"unknown_attempts":0,)"
            R"("next":"2026-11-25T10:00:01.123456789-05:00","done":null,"digest":"d","reply":"503"})");
}

}  // namespace
}  // namespace brimwatch
