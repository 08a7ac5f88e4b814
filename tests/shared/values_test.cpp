// Values of the shared log: what goes in comes out; what a newer program wrote is refused and named.
#include "shared/entries/values.h"

#include <gmock/gmock.h>

#include <cmath>
#include <random>

#include "core/text/notice_json.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

NoticeRecord some_notice() {
  NoticeRecord record;
  record.id = "2026-11-25/KLVN/48.35/crossed/1", record.symbol = "KLVN", record.title = "KLVN crossed \"48.35\"\n\xff";
  record.text = "two\nlines", record.note = "a note", record.offset = std::chrono::seconds(-18000);
  Notice& notice = record.notice;
  notice.kind = NoticeKind::crossed, notice.side = Side::inside, notice.day = Date::of(2026, 11, 25);
  notice.time = Timestamp{1'795'621'327'000'000'000}, notice.price = Price{48'410'000}, notice.pivot = Price{48'350'000};
  notice.marked = notice.last_today = true, notice.count = 1, notice.trade_id = 18'000'000'000'000'000'000ULL;
  notice.volume.weight = Weight::heavy, notice.volume.projected = 2.3e6, notice.volume.odds = 0.94;
  notice.volume.low = std::nan(""), notice.volume.minutes = 42.5, notice.volume.why_not = NoJudgement::none;
  return record;
}

TEST(SharedValues, a_notice_comes_out_as_it_went_in) {
  NoticeRecord record = some_notice();
  const auto read = notice_from(to_value(SharedNotice{record, {"home", 7}}), kSharedFormat);
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(read->mark, (SharedMark{"home", 7}));
  EXPECT_EQ(read->record.id, record.id);
  EXPECT_EQ(read->record.text, record.text);
  EXPECT_EQ(read->record.offset, record.offset);
  EXPECT_EQ(read->record.notice.trade_id, record.notice.trade_id);
  EXPECT_EQ(read->record.notice.time, record.notice.time);
  EXPECT_TRUE(read->record.notice.marked);
  EXPECT_TRUE(read->record.notice.last_today);
  EXPECT_FALSE(read->record.notice.held);
  EXPECT_EQ(read->record.notice.volume.weight, Weight::heavy);
  EXPECT_TRUE(std::isnan(read->record.notice.volume.low));
  EXPECT_EQ(read->record.notice.volume.minutes, 42.5);
}

/// The form of version 1: who changes what a notice keeps makes it a new version, or machines of two versions would
/// misread each other.
TEST(SharedValues, the_form_of_a_notice_is_that_of_its_version) {
  NoticeRecord plain;
  plain.id = "2026-11-25/KLVN/48.35/crossed/1";
  EXPECT_EQ(kSharedFormat, 1);
  EXPECT_EQ(to_value(SharedNotice{plain, {"home", 7}}),
            R"({"crossing":[-1.0,-1.0,0.0,0.0],"mark":{"by":"home","token":7},"row":)"
            R"(["2026-11-25/KLVN/48.35/crossed/1",0,0,0,"","crossed",1,"unknown","unknown",0,0,0,-1,0,0,0,0,0,0,)"
            R"(0,0,0.0,0.0,0.0,0.0,0.0,40.0,1.0,0.0,"unknown",1,"","","",""],"v":1})");
}

TEST(SharedValues, a_delivery_comes_out_as_it_went_in) {
  DeliveryRow row{.notice_id = "n", .channel = "mail", .state = DeliveryState::sending, .attempts = 2, .unknowns = 1};
  row.next = Timestamp{5}, row.digest = "d", row.reply = "250 taken";
  const auto read = delivery_from(to_value(SharedDelivery{row, {"cloud", 9}}), kSharedFormat);
  ASSERT_TRUE(read);
  EXPECT_EQ(read->row, row);
}

/// Every field of a state, by the list that the journal uses too.
TEST(SharedValues, states_come_out_as_they_went_in) {
  std::mt19937_64 random(7);
  for (int round = 0; round < 50; ++round) {
    WatchState watch;
    watch.symbol = "KLVN", watch.pivot = Price{48'350'000};
    watch.side = static_cast<Side>(random() % 4), watch.told = random() % 2 != 0;
    for (auto& count : watch.counts) count = static_cast<std::uint16_t>(random() % 4);
    watch.day = Date{static_cast<std::int32_t>(random() % 30'000)},
    watch.reached = Timestamp{static_cast<std::int64_t>(random() >> 2)};
    watch.past = {1, -2, static_cast<std::int64_t>(random())};
    const auto read = watch_from(to_value(watch), kSharedFormat);
    ASSERT_TRUE(read);
    EXPECT_EQ(*read, watch);
    SymbolState symbol;
    symbol.symbol = "NIVO", symbol.last = Price{static_cast<std::int64_t>(random() % 1'000'000'000)};
    for (auto& one : symbol.recent_trades) one = random();
    for (auto& one : symbol.knot_volume) one = static_cast<std::int64_t>(random() >> 3);
    symbol.missed_share = static_cast<double>(random()) * 1e-20;
    const auto again = symbol_from(to_value(symbol), kSharedFormat);
    ASSERT_TRUE(again);
    EXPECT_EQ(*again, symbol);
  }
}

TEST(SharedValues, a_field_that_is_not_there_keeps_its_first_value) {
  const auto read =
      watch_from(R"({"v":1,"symbol":"KLVN","pivot":1,"state":{"side":2,"counts":[1,2],"newer":5}})", kSharedFormat);
  ASSERT_TRUE(read);
  EXPECT_EQ(read->side, Side::inside);
  EXPECT_EQ(read->counts[1], 2);
  EXPECT_TRUE(read->armed);
}

TEST(SharedValues, an_answer_comes_out_as_it_went_in) {
  for (int kind = 0; kind < kAnswerKinds; ++kind) {
    Answer answer;
    answer.id = "18b-3f-1", answer.kind = static_cast<AnswerKind>(kind), answer.who = "phone \"of mine\"";
    answer.at = Timestamp{1'795'621'327'000'000'000}, answer.time = Timestamp{5}, answer.day = Date::of(2026, 11, 25);
    answer.symbol = "KLVN", answer.pivot = Price{48'350'000}, answer.price = Price{48'600'001};
    answer.shares = Shares::whole(100), answer.until = Timestamp{7}, answer.under_pivot = kind % 2 == 1;
    answer.last_day = Date::of(2026, 12, 24), answer.note = "a\nnote", answer.notice = "2026-11-25/KLVN/48.35/crossed/1";
    const auto read = shared_answer_from(to_value(SharedAnswer{answer, "cloud"}), kSharedFormat);
    ASSERT_TRUE(read) << read.error().text;
    EXPECT_EQ(read->answer, answer);
    EXPECT_EQ(read->by, "cloud");
  }
}

TEST(SharedValues, what_cannot_be_read_is_one_line) {
  const auto text = [](std::string_view value) {
    const auto read = notice_from(value, kSharedFormat);
    return read ? std::string() : read.error().text;
  };
  EXPECT_EQ(text(R"({"v":2,"anything":1})"),
            "a notice in the shared log: found version 2, this program reads up to 1; update it");
  EXPECT_EQ(text("no json"), "a notice in the shared log: found no JSON object");
  EXPECT_EQ(text(R"({"row":[]})"), "a notice in the shared log: found no version");
  EXPECT_EQ(text(R"({"v":1,"row":[]})"), "a notice in the shared log: found another form than that of version 1");
}

TEST(SharedValues, a_member_comes_out_as_it_went_in) {
  SharedMember member{.name = "home", .version = "1.2.3", .list = "abc", .watches = 24, .well = false, .trouble = "disk"};
  member.clock = Timestamp{99}, member.rules = "def", member.direct = "https://10.0.0.1:2390";
  const auto read = member_from(to_value(member), kSharedFormat);
  ASSERT_TRUE(read);
  EXPECT_EQ(*read, member);
}

}  // namespace
}  // namespace brimwatch
