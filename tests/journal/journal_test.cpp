#include "journal/journal.h"

#include <gmock/gmock.h>

#include <limits>

#include "sample.h"
#include "support/whole_file.h"

namespace brimwatch {
namespace {

using sample::must;
using testing::HasSubstr;

JournalBatch batch_of(std::vector<NoticeRecord> notices) {
  JournalBatch batch;
  batch.notices = std::move(notices);
  return batch;
}

TEST(Journal, GivesBackANoticeExactlyAsItWas) {
  sample::Folder folder;
  auto first = sample::notice(1), odd = sample::notice(2);
  odd.notice.volume.projected = std::numeric_limits<double>::quiet_NaN();
  odd.notice.volume.surge = -0.0;
  odd.notice.volume.high = std::numeric_limits<double>::infinity();
  odd.notice.volume.low = 5e-324;
  odd.notice.volume.odds = 3;  // a whole number must come back as the same double
  odd.text = std::string("nul\0inside", 10);
  odd.note = "\xff not utf-8";
  odd.notice.age = -1;
  {
    auto journal = sample::open(folder.file("j"));
    must(journal->commit(batch_of({first, odd})));
  }
  auto journal = must(Journal::open_read_only(folder.file("j")));
  const auto notices = must(journal->notices({}));
  ASSERT_EQ(notices.size(), 2U);
  sample::expect_same(notices[0], first);
  sample::expect_same(notices[1], odd);
  EXPECT_EQ(journal->damaged(), 0U);
}

/// What a commit has to wait for is its own rows; 3,000 notices fill more of the log than is left lying there.
TEST(Journal, BringsItsLogIntoTheFileWhenNobodyWaits) {
  sample::Folder folder;
  std::vector<NoticeRecord> many;
  for (int number = 0; number < 3'000; ++number) {
    many.push_back(sample::notice(number));
    many.back().text.assign(3'000, 'x');
  }
  JournalOptions options;
  for (const bool apart : {false, true}) {
    options.tidied_apart = apart;
    const std::string path = folder.file(apart ? "apart" : "at_once");
    auto journal = must(Journal::open(path, options));
    const auto empty = std::filesystem::file_size(path);
    must(journal->commit(batch_of(many)));
    EXPECT_EQ(std::filesystem::file_size(path) > empty, !apart);
    journal->tidy();
    EXPECT_GT(std::filesystem::file_size(path), 3'000 * 3'000);
    EXPECT_EQ(must(journal->notices({})).size(), many.size());
  }
}

TEST(Journal, LeavesNoEndOfItsLogToABetterMoment) {
  sample::Folder folder;
  JournalOptions options;
  options.tidied_apart = true;
  auto journal = must(Journal::open(folder.file("j"), options));
  const auto empty = std::filesystem::file_size(folder.file("j"));
  std::vector<NoticeRecord> many{sample::notice(1)};
  many[0].text.assign(40'000'000, 'x');
  must(journal->commit(batch_of(many)));
  EXPECT_GT(std::filesystem::file_size(folder.file("j")), empty + 40'000'000);
}

TEST(Journal, KeepsWhereACrossingStoodWhenItWasJudged) {
  sample::Folder folder;
  auto crossed = sample::notice(1), other = sample::notice(2, sample::kDay, NoticeKind::left_range),
       unjudged = sample::notice(3);
  for (NoticeRecord* one : {&crossed, &other}) {
    VolumeView& volume = one->notice.volume;
    volume.minutes = 12.25, volume.gap = 1 / 3.0, volume.lift = .06, volume.own_lift = -.0125;
  }
  auto journal = sample::open(folder.file("j"));
  must(journal->commit(batch_of({crossed, other, unjudged})));
  const auto notices = must(journal->notices({}));
  ASSERT_EQ(notices.size(), 3U);
  const VolumeView& kept = notices[0].notice.volume;
  EXPECT_EQ(std::tuple(kept.minutes, kept.gap, kept.lift, kept.own_lift), std::tuple(12.25, 1 / 3.0, .06, -.0125));
  EXPECT_EQ(notices[1].notice.volume.minutes, -1) << "crossings alone";
  EXPECT_EQ(notices[2].notice.volume.minutes, -1);
  NoticeQuery newest;
  newest.limit = 3, newest.symbol = "KLVN", newest.kinds = {NoticeKind::crossed};
  EXPECT_EQ(must(journal->notices(newest)).at(0).notice.volume.gap, 1 / 3.0);
}

TEST(Journal, KeepsWhichOfSeveralMachinesSaidANotice) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  JournalBatch batch = batch_of({sample::notice(1), sample::notice(2)});
  batch.speakers[batch.notices[0].id] = "home";
  must(journal->commit(batch));
  batch.speakers[batch.notices[0].id] = "cloud";  // it comes again: the first to say it is kept
  must(journal->commit(batch));
  EXPECT_EQ(must(journal->speaker(batch.notices[0].id)), "home");
  EXPECT_EQ(must(journal->speaker(batch.notices[1].id)), "");
}

TEST(Journal, WritesANoticeOnceHoweverOftenItComes) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  std::vector<NoticeRecord> written;
  must(journal->commit(batch_of({sample::notice(1), sample::notice(2)}), to_all({"mail"}), &written));
  EXPECT_EQ(written.size(), 2U);
  auto again = sample::notice(2);
  again.text = "other words";
  must(journal->commit(batch_of({sample::notice(1), again, sample::notice(3)}), to_all({"mail", "desk"}), &written));
  ASSERT_EQ(written.size(), 1U);
  EXPECT_EQ(written[0].id, sample::notice(3).id);
  const auto notices = must(journal->notices({}));
  ASSERT_EQ(notices.size(), 3U);
  EXPECT_EQ(notices[1].text, sample::notice(2).text) << "the first one stands";
  EXPECT_EQ(must(journal->deliveries(sample::notice(1).id)).size(), 1U);
  EXPECT_EQ(must(journal->deliveries(sample::notice(3).id)).size(), 2U);
}

TEST(Journal, KeepsTheOrderInWhichNoticesWereWritten) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  must(journal->commit(batch_of({sample::notice(5), sample::notice(2)})));
  must(journal->commit(batch_of({sample::notice(9), sample::notice(1)})));
  std::vector<int> counts;
  for (const auto& record : must(journal->notices({}))) counts.push_back(record.notice.count);
  EXPECT_THAT(counts, testing::ElementsAre(5, 2, 9, 1));
}

TEST(Journal, WritesStateAndNoticesTogetherOrNotAtAll) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  JournalBatch batch = batch_of({sample::notice(1)});
  batch.watches.push_back(sample::watch_state("KLVN", sample::kDay));
  const Recipients failing = [](const NoticeRecord&) { return std::vector<std::string>{std::string("a\0b", 3), "a"}; };
  must(journal->commit(batch, failing, nullptr));
  EXPECT_EQ(must(journal->deliveries(sample::notice(1).id)).size(), 2U);
  EXPECT_EQ(must(journal->watch_states({})).size(), 1U);
}

TEST(Journal, SelectsByDayRangeSymbolKindAndNumber) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  auto other = sample::notice(4, sample::kDay + 1, NoticeKind::fell_under);
  other.symbol = "ORRI", other.id = "2026-11-26/ORRI/1.00/fell-under/4";
  must(journal->commit(batch_of({sample::notice(1, sample::kDay - 1), sample::notice(2),
                                 sample::notice(3, sample::kDay, NoticeKind::left_range), other})));
  const auto count = [&](const NoticeQuery& query) { return must(journal->notices(query)).size(); };
  EXPECT_EQ(count({}), 4U);
  EXPECT_EQ(count({.day = sample::kDay}), 2U);
  EXPECT_EQ(count({.from = sample::kDay}), 3U);
  EXPECT_EQ(count({.to = sample::kDay}), 3U);
  EXPECT_EQ(count({.symbol = "ORRI"}), 1U);
  EXPECT_EQ(count({.symbol = "' OR 1 --"}), 0U);
  EXPECT_EQ(count({.kinds = {NoticeKind::left_range, NoticeKind::fell_under}}), 2U);
  const auto newest = must(journal->notices({.limit = 2}));
  ASSERT_EQ(newest.size(), 2U);
  EXPECT_EQ(newest[0].notice.count, 3);
  EXPECT_EQ(newest[1].notice.count, 4);
}

TEST(Journal, TakesUpOpenDeliveriesOldestFirst) {
  sample::Folder folder;
  {
    auto journal = sample::open(folder.file("j"));
    must(journal->commit(batch_of({sample::notice(1), sample::notice(2)}), to_all({"mail", "desk"}), nullptr));
    DeliveryRow row{.notice_id = sample::notice(1).id,
                    .channel = "mail",
                    .state = DeliveryState::delivered,
                    .attempts = 2,
                    .unknowns = 1,
                    .next = {},
                    .done = Timestamp{7},
                    .digest = "d/1",
                    .reply = "250 taken"};
    must(journal->update(row));
    EXPECT_EQ(must(journal->deliveries(row.notice_id)).back(), row);
    row = {.notice_id = sample::notice(2).id, .channel = "desk", .state = DeliveryState::sending, .attempts = 1};
    must(journal->update(row));
  }
  auto journal = sample::open(folder.file("j"));
  const auto open = must(journal->open_deliveries());
  ASSERT_EQ(open.size(), 3U);
  EXPECT_EQ(open[0].row.channel, "desk");
  EXPECT_EQ(open[0].record.id, sample::notice(1).id);
  EXPECT_EQ(open[1].row.state, DeliveryState::sending);
  EXPECT_EQ(open[1].row.attempts, 1);
  sample::expect_same(open[1].record, sample::notice(2));
  EXPECT_EQ(open[2].row.channel, "mail");
}

TEST(Journal, RemembersWhichOfSeveralRecipientsHaveIt) {
  sample::Folder folder;
  DeliveryRow row{.notice_id = sample::notice(1).id, .channel = "mail", .state = DeliveryState::sending, .attempts = 1};
  {
    auto journal = sample::open(folder.file("j"));
    must(journal->commit(batch_of({sample::notice(1), sample::notice(2)}), to_all({"mail"}), nullptr));
    row.taken_by = {"b@example.org"};
    must(journal->update(row));
    row.taken_by.emplace_back("a@example.org");
    must(journal->update(row));
  }
  auto journal = sample::open(folder.file("j"));
  const auto open = must(journal->open_deliveries());
  ASSERT_EQ(open.size(), 2U);
  EXPECT_THAT(open[0].row.taken_by, testing::UnorderedElementsAre("a@example.org", "b@example.org"));
  EXPECT_THAT(open[1].row.taken_by, testing::IsEmpty());
  EXPECT_EQ(must(journal->deliveries(row.notice_id)).front().taken_by, open[0].row.taken_by);
  row.taken_by.clear();
  must(journal->update(row));
  EXPECT_THAT(must(journal->open_deliveries())[0].row.taken_by, testing::IsEmpty()) << "what a row says is all there is";
  EXPECT_EQ(journal->damaged(), 0U);
}

TEST(Journal, KnowsOfOpenDeliveriesWhetherTheirNoticeIsAcknowledged) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  must(journal->commit(batch_of({sample::notice(1), sample::notice(2)}), to_all({"mail", "desk"}), nullptr));
  must(sample::open(folder.file("j"))->acknowledge(sample::notice(2).id, Timestamp{5}));  // as the command does
  const auto open = must(journal->open_deliveries());
  ASSERT_EQ(open.size(), 4U);
  for (const OpenDelivery& one : open) EXPECT_EQ(one.acknowledged, one.record.id == sample::notice(2).id);
  EXPECT_EQ(journal->damaged(), 0U);
}

TEST(Journal, LeavesOutADeliveryOfANoticeItDoesNotHave) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  must(journal->update({.notice_id = "none", .channel = "mail"}));
  EXPECT_TRUE(must(journal->open_deliveries()).empty());
}

TEST(Journal, AcknowledgesWhatIsThereAndOnlyThat) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  must(journal->commit(batch_of({sample::notice(1), sample::notice(2)})));
  EXPECT_FALSE(must(journal->acknowledged(sample::notice(1).id)));
  auto other = sample::open(folder.file("j"));  // as the command does while the daemon runs
  must(other->acknowledge(sample::notice(1).id, Timestamp{5}));
  must(other->acknowledge(sample::notice(1).id, Timestamp{6}));
  must(other->acknowledge(sample::notice(2).id, Timestamp{7}));
  EXPECT_TRUE(must(journal->acknowledged(sample::notice(1).id)));
  const auto all = must(journal->acknowledgements(0));
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].notice_id, sample::notice(1).id);
  EXPECT_EQ(all[0].at, Timestamp{5}) << "the first one counts";
  EXPECT_EQ(must(journal->acknowledgements(all[0].seq)).size(), 1U);
  const auto missing = journal->acknowledge("2026-11-25/NOPE/1.00/crossed/1", Timestamp{5});
  ASSERT_FALSE(missing);
  EXPECT_THAT(missing.error().text, HasSubstr("no notice \"2026-11-25/NOPE/1.00/crossed/1\""));
}

TEST(Journal, GivesBackAnswersAsTheyWereInTheirOrder) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j.db"));
  JournalBatch batch;
  for (int kind = 0; kind < kAnswerKinds; ++kind)
    batch.answers.push_back(sample::answer(static_cast<AnswerKind>(kind), kind, sample::kDay + kind));
  must(journal->commit(batch));
  must(journal->commit(batch));  // a second time: each id counts once
  EXPECT_EQ(must(journal->answers({}, {})), batch.answers);
  EXPECT_THAT(must(journal->answers(sample::kDay + 2, sample::kDay + 3)),
              testing::ElementsAre(batch.answers[2], batch.answers[3]));
  EXPECT_THAT(must(journal->answers(sample::kDay + kAnswerKinds, {})), testing::IsEmpty());
}

/// Among several machines the shared log may put one that is known behind others.
TEST(Journal, AnAnswerThatComesAgainTakesItsPlaceBehindTheOthers) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j.db"));
  const Answer first = sample::answer(AnswerKind::bought, 1), second = sample::answer(AnswerKind::sold, 2);
  JournalBatch both, again;
  both.answers = {first, second};
  again.answers = {first};
  must(journal->commit(both));
  must(journal->commit(again));
  EXPECT_THAT(must(journal->answers({}, {})), testing::ElementsAre(second, first));
}

TEST(Journal, AnAnswerThatAcknowledgesCountsForItsNotice) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j.db"));
  JournalBatch batch;
  batch.notices = {sample::notice(1)};
  Answer seen = sample::answer(AnswerKind::acknowledge, 1), of_nothing = sample::answer(AnswerKind::acknowledge, 2);
  seen.notice = batch.notices[0].id;
  of_nothing.notice = "2026-01-01/NIVO/1.00/crossed/1";
  batch.answers = {seen, of_nothing};
  must(journal->commit(batch));
  EXPECT_TRUE(must(journal->acknowledged(seen.notice)));
  EXPECT_THAT(must(journal->acknowledgements(0)), testing::SizeIs(1));
}

TEST(Journal, KnowsWhatAHoldingWasBoughtAt) {
  sample::Folder folder;
  const auto journal = sample::open(folder.file("j.db"));
  JournalBatch batch;
  batch.notices = {sample::notice(1, sample::kDay, NoticeKind::gain)};
  batch.notices[0].notice.detail = bought_at(Price{48'600'000});
  batch.notices[0].notice.muted = true;
  must(journal->commit(batch));
  const auto read = must(journal->notices({}));
  ASSERT_THAT(read, testing::SizeIs(1));
  EXPECT_EQ(read[0].notice.bought, Price{48'600'000});
  EXPECT_TRUE(read[0].notice.muted);
}

TEST(Journal, KnowsHowFarACountHasGone) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  must(journal->commit(batch_of({sample::notice(3, sample::kDay, NoticeKind::feed_silent)})));
  EXPECT_EQ(must(journal->highest_count(sample::kDay, "KLVN", NoticeKind::feed_silent)), 3);
  EXPECT_EQ(must(journal->highest_count(sample::kDay, "KLVN", NoticeKind::crossed)), 0);
}

TEST(Journal, KeepsDaysAndHoles) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  JournalBatch batch;
  for (int i = 0; i < 5; ++i) {
    DayRecord day{.day = sample::kDay + i,
                  .symbol = "KLVN",
                  .volume = Shares::whole(i),
                  .coverage = 0.5,
                  .open = Price{1},
                  .high = Price{2},
                  .low = Price{3},
                  .close = Price{4},
                  .half_day = i == 2};
    day.knots.fill(std::numeric_limits<double>::quiet_NaN());
    day.knots[3] = -0.5;
    batch.days.push_back(day);
  }
  batch.holes = {{"main", "", Timestamp{10}, Timestamp{20}, "silent"},
                 {"main", "KLVN", Timestamp{30}, Timestamp{40}, "gap"}};
  must(journal->commit(batch));
  batch.days.resize(1);
  batch.days[0].volume = Shares::whole(100);
  must(journal->commit(batch));
  const auto days = must(journal->days("KLVN", sample::kDay + 4, 3));
  ASSERT_EQ(days.size(), 3U);
  EXPECT_EQ(days[0].day, sample::kDay + 1);
  EXPECT_TRUE(days[1].half_day);
  EXPECT_EQ(days[2].volume, Shares::whole(3));
  EXPECT_EQ(days[2].knots[3], -0.5);
  EXPECT_TRUE(std::isnan(days[2].knots[0]));
  EXPECT_EQ(must(journal->days("KLVN", sample::kDay + 1, 3)).at(0).volume, Shares::whole(100))
      << "the later one replaces";
  EXPECT_EQ(must(journal->holes(Timestamp{0}, Timestamp{100})).size(), 2U);
  const auto one = must(journal->holes(Timestamp{15}, Timestamp{29}));
  ASSERT_EQ(one.size(), 1U);
  EXPECT_EQ(one[0].why, "silent");
}

TEST(Journal, AnEmptyBatchTouchesNothing) {
  sample::Folder folder;
  auto journal = sample::open(folder.file("j"));
  const std::string before = test::whole_file(folder.file("j-wal"));
  must(journal->commit({}));
  EXPECT_EQ(test::whole_file(folder.file("j-wal")), before);
}

}  // namespace
}  // namespace brimwatch
