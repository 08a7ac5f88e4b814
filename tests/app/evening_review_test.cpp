// The evening's review: when it is due, that it is one a day, what it says, and the mail that comes of it.
#include "app/evening_review.h"

#include <gmock/gmock.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "../evening/record.h"
#include "adapters/channels/mail/mail_message.h"
#include "desk/channel_plans.h"
#include "journal/journal.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;
using testing_support::crossing;
using testing_support::price;

constexpr Date kWednesday = Date::of(2026, 11, 25);  // a full session in New York; the Friday after it is a half day

/// Eastern standard time, five hours behind UTC.
Timestamp new_york(Date day, int hour, int minute) {
  return Timestamp{day.days * kDayNanos + (hour + 5) * kHour + minute * kMinute};
}

class EveningMail : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::path(::testing::TempDir()) / ("evening_" + std::to_string(::getpid()));
    fs::create_directories(folder_ / "history");
    settings_.history.daily = (folder_ / "history").string();
    settings_.evening.review_at = "18:00";
    std::ofstream bars(folder_ / "history" / "KLVN.csv");
    bars << "date,open,high,low,close,volume\n";
    for (int i = 40; i >= 0; --i) {
      bars << to_string(kWednesday - i) << "," << 50 - i * 0.1 << "," << 51.5 - i * 0.1 << "," << 49 - i * 0.1 << ","
           << 51 - i * 0.1 << "," << (i == 0 ? 1'500'000 : 1'000'000) << "\n";
    }
    bars.close();
    auto journal = Journal::open(path());
    ASSERT_TRUE(journal);
    JournalBatch batch;
    batch.notices = {crossing(Weight::heavy, 0.9, kWednesday - 7), crossing(Weight::heavy, 0.8, kWednesday)};
    batch.notices[1].note = "half <a position> & wait";
    ASSERT_TRUE((*journal)->commit(batch));
  }
  void TearDown() override { fs::remove_all(folder_); }
  [[nodiscard]] std::string path() const { return (folder_ / "journal.db").string(); }
  [[nodiscard]] EveningReview made() const {
    auto out = make_evening_review(path(), settings_, kWednesday, new_york(kWednesday, 18, 0), std::chrono::hours(-5));
    EXPECT_TRUE(out) << (out ? "" : out.error().text);
    return out ? std::move(*out) : EveningReview{};
  }

  static Message message_of(const NoticeRecord& record) {
    Message message;
    message.notices = {record};
    message.id = record.id, message.title = record.title, message.text = record.text;
    return message;
  }
  /// What reaches the channel behind.
  Message sent(const Message& message) {
    EXPECT_EQ(channel_.send(message).outcome, Outcome::delivered);
    return *last_;
  }

  struct Keeps : Channel {
    explicit Keeps(std::shared_ptr<Message> into) : into_(std::move(into)) {}
    Delivery send(const Message& message) override {
      *into_ = message;
      return {Outcome::delivered, {}, {}};
    }
    std::shared_ptr<Message> into_;
  };

  fs::path folder_;
  Settings settings_;
  int pages_made_ = 0;
  std::shared_ptr<Message> last_ = std::make_shared<Message>();
  WithReviewPages channel_{std::make_unique<Keeps>(last_), [this](const NoticeRecord& review) -> Result<EveningPage> {
                             ++pages_made_;
                             auto out = make_evening_review(path(), settings_, review.notice.day, review.notice.time,
                                                            review.offset);
                             if (!out) return tl::unexpected(out.error());
                             return std::move(out->page);
                           }};
};

TEST_F(EveningMail, says_the_days_crossings_and_the_odds_of_the_weeks_before) {
  const EveningReview out = made();
  EXPECT_EQ(out.record.id, "2026-11-25/review/0.00/day-end/1");
  EXPECT_EQ(out.record.title, "Review of 2026-11-25: 1 crossing, 1 of 1 with the volume wanted");
  EXPECT_THAT(out.record.text, HasSubstr("KLVN crossed, pivot 50.00 at 50.20; heavy, odds 0.80"));
  EXPECT_THAT(out.record.text, HasSubstr("Since 2026-08-27:\nWere the odds right?"));
  EXPECT_THAT(out.record.text, HasSubstr("Too few to judge the odds: 2 decided on 2 days"));
  EXPECT_TRUE(is_review(out.record));
}

TEST_F(EveningMail, is_written_once_over_restarts) {
  for (int start = 0; start < 2; ++start) {
    auto journal = Journal::open(path());
    JournalBatch batch;
    batch.notices = {made().record};
    std::vector<NoticeRecord> written;
    ASSERT_TRUE((*journal)->commit(batch, to_all({"mail"}), &written));
    EXPECT_EQ(written.size(), start == 0 ? 1U : 0U);
  }
}

TEST_F(EveningMail, goes_to_the_channels_chosen_and_nowhere_else) {
  ChannelSettings mail, desk, hook;
  mail.kind = "email", mail.name = "mail", mail.kinds = {NoticeKind::crossed};
  desk.kind = "desktop", desk.name = "desk";
  hook.kind = "webhook", hook.name = "hook";
  const std::vector<ChannelSettings> all{mail, desk, hook};
  const NoticeRecord record = made().record;
  const auto names = [&](const EveningSettings& evening) { return recipients_of(plans_of(all, evening))(record); };
  EXPECT_THAT(names({"18:00", {}, 90}), ElementsAre("mail")) << "every email channel, whatever kinds it carries";
  EXPECT_THAT(names({"18:00", {"desk", "hook"}, 90}), ElementsAre("desk", "hook"));
  EXPECT_THAT(names({"", {}, 90}), ElementsAre());
  EXPECT_THAT(recipients_of(plans_of(all, {"18:00", {}, 90}))(crossing()), ElementsAre("mail", "desk", "hook"));
}

TEST_F(EveningMail, carries_its_page_with_pictures_and_no_text_that_breaks_it) {
  const Message message = sent(message_of(made().record));
  ASSERT_EQ(message.pictures.size(), 6U)
      << "for light and dark: the day's odds, those of the weeks before, and the crossing";
  for (const InlinePicture& picture : message.pictures) {
    ASSERT_GT(picture.png.size(), 100U);
    EXPECT_EQ(std::string(picture.png.begin(), picture.png.begin() + 4), "\x89PNG");
    EXPECT_THAT(message.html, HasSubstr("\"cid:" + picture.name + "\""));
  }
  EXPECT_THAT(message.html, HasSubstr("half &lt;a position&gt; &amp; wait"));
  EXPECT_THAT(message.html, Not(HasSubstr("<svg")));
  const std::string mail = compose_mail(message, {{"", "me@example.org"}, {{"", "me@example.org"}}});
  EXPECT_THAT(mail, HasSubstr("multipart/related"));
  EXPECT_THAT(mail, Not(HasSubstr("cid:picture-1\"")));
  std::size_t parts = 0;
  for (auto at = mail.find("Content-ID: <picture-"); at != std::string::npos;
       at = mail.find("Content-ID: <picture-", at + 1))
    ++parts;
  EXPECT_EQ(parts, 6U);
}

TEST_F(EveningMail, leaves_other_messages_alone_and_goes_without_a_page_where_none_can_be_made) {
  EXPECT_TRUE(sent(message_of(crossing())).html.empty());
  EXPECT_EQ(pages_made_, 0);
  const Message review = message_of(made().record);
  fs::remove(folder_ / "journal.db");
  const Message plain = sent(review);
  EXPECT_TRUE(plain.html.empty());
  EXPECT_EQ(plain.text, review.text);
}

TEST_F(EveningMail, makes_its_page_once_for_all_attempts) {
  const Message review = message_of(made().record);
  static_cast<void>(sent(review));
  EXPECT_EQ(sent(review).pictures.size(), 6U);
  EXPECT_EQ(pages_made_, 1);
}

TEST_F(EveningMail, says_what_the_journal_has_lost) {
  std::fstream file(path(), std::ios::in | std::ios::out | std::ios::binary);
  std::string bytes((std::istreambuf_iterator<char>(file)), {});
  const std::size_t at = bytes.find("half <a position>");
  ASSERT_NE(at, std::string::npos);
  file.clear();
  file.seekp(static_cast<std::streamoff>(at)).put('H');
  file.close();
  const EveningReview out = made();
  EXPECT_THAT(out.record.text, HasSubstr("journal.db: 1 damaged row was left out; the rest is as it was written."));
  EXPECT_THAT(out.page.html, HasSubstr("journal.db: 1 damaged row was left out"));
}

TEST_F(EveningMail, of_a_journal_that_is_not_there_is_an_error) {
  fs::remove(folder_ / "journal.db");
  EXPECT_FALSE(make_evening_review(path(), settings_, kWednesday, new_york(kWednesday, 18, 0), std::chrono::hours(-5)));
}

}  // namespace
}  // namespace brimwatch
