#include "core/wording.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <functional>
#include <sstream>

#include "core/text/text.h"
#include "support/price.h"
#include "tests/support/sample_notice.h"

namespace brimwatch {
namespace {

using test::price;

using testing_support::sample_context;
using testing_support::sample_notice;
using testing_support::sample_record;
using testing_support::sample_volume;

const std::string kGolden = BRIMWATCH_SOURCE_DIR "/tests/golden/notices.txt";

/// All notices that the golden file shows, one after the other under a heading that says the case.
class Sheet {
 public:
  void add(std::string_view title, NoticeKind kind, Weight weight, const std::function<void(Notice&)>& change = {},
           WordingContext context = {"KLVN", "", std::chrono::hours(-5)}) {
    Notice notice = sample_notice(kind, weight);
    if (change) change(notice);
    const NoticeRecord record = word(notice, context);
    out_ << "== " << title << "\n" << record.title << "\n" << record.text << "\n\n";
  }
  [[nodiscard]] std::string text() const { return out_.str(); }

 private:
  std::ostringstream out_;
};

void add_crossings(Sheet& sheet) {
  using enum NoticeKind;
  sheet.add("crossed, heavy, with a note", crossed, Weight::heavy, {}, sample_context());
  sheet.add("crossed, unsettled", crossed, Weight::unsettled);
  sheet.add("crossed, light", crossed, Weight::light);
  sheet.add("crossed, normal volume not known", crossed, Weight::unknown);
  sheet.add("crossed, part of the market not known", crossed, Weight::unknown,
            [](Notice& n) { n.volume.why_not = NoJudgement::ratio_unknown; });
  sheet.add("crossed, part of the market too unsteady", crossed, Weight::unknown,
            [](Notice& n) { n.volume.why_not = NoJudgement::ratio_unsteady; });
  sheet.add("crossed before the open", crossed, Weight::unknown,
            [](Notice& n) { n.volume.why_not = NoJudgement::outside_session; });
  sheet.add("crossed for the second time", crossed, Weight::heavy, [](Notice& n) { n.count = 2; });
  sheet.add("crossed, market down and marked", crossed, Weight::heavy, [](Notice& n) {
    n.trend = Trend::down;
    n.marked = true;
  });
  sheet.add("crossed, market mixed", crossed, Weight::heavy, [](Notice& n) { n.trend = Trend::mixed; });
  sheet.add("crossed, market not set, age not known", crossed, Weight::heavy, [](Notice& n) {
    n.trend = Trend::unknown;
    n.age = -1;
  });
  sheet.add("crossed, data fifteen minutes old", crossed, Weight::heavy, [](Notice& n) {
    n.delayed = true;
    n.age = 15 * kMinute + 2 * kSecond;
  });
  sheet.add("crossed, market down and old data", crossed, Weight::heavy, [](Notice& n) {
    n.delayed = n.marked = true;
    n.trend = Trend::down;
    n.age = 16 * kMinute;
  });
  sheet.add("crossed while the feed was blind", crossed, Weight::unsettled, [](Notice& n) {
    n.in_hole = true;
    n.price_before = price("47.90");
    n.price = price("49.02");
    n.volume.missed_minutes = 12.4;
  });
  sheet.add("crossed and past the range in one print", crossed, Weight::heavy, [](Notice& n) {
    n.price = price("51.02");
    n.side = Side::over;
  });
  sheet.add("crossed, on a feed that carries a part of the market", crossed, Weight::heavy,
            [](Notice& n) { n.volume.feed_ratio = 0.0263; });
  sheet.add("crossed at the pivot to the cent, clock behind", crossed, Weight::heavy, [](Notice& n) {
    n.price = n.pivot;
    n.age = -4 * kSecond;
  });
}

void add_volume(Sheet& sheet) {
  using enum NoticeKind;
  const auto later = [](Notice& n) { n.price = price("48.90"); };
  sheet.add("opened over, heavy", opened_over, Weight::heavy, [](Notice& n) { n.price = price("51.80"); });
  sheet.add("opened over, light, market down", opened_over, Weight::light, [](Notice& n) {
    n.price = price("51.80");
    n.marked = true;
    n.trend = Trend::down;
  });
  sheet.add("opened over, not judged", opened_over, Weight::unknown, [](Notice& n) { n.price = price("51.80"); });
  sheet.add("volume arrived", volume_arrived, Weight::heavy, later);
  sheet.add("volume arrived, old data", volume_arrived, Weight::heavy, [](Notice& n) {
    n.delayed = true;
    n.age = 90 * kSecond;
  });
  sheet.add("volume faded", volume_faded, Weight::light, later);
  sheet.add("volume faded to unsettled", volume_faded, Weight::unsettled, later);
}

void add_sides(Sheet& sheet) {
  using enum NoticeKind;
  for (const Weight weight : {Weight::heavy, Weight::unsettled, Weight::light, Weight::unknown}) {
    const std::string with = ", " + std::string(to_string(weight));
    sheet.add("left the range" + with, left_range, weight, [](Notice& n) { n.price = price("50.80"); });
    sheet.add("back inside" + with, back_inside, weight, [](Notice& n) { n.price = price("50.40"); });
    sheet.add("fell under" + with, fell_under, weight, [](Notice& n) { n.price = price("47.80"); });
    sheet.add("loss limit" + with, loss_limit, weight, [](Notice& n) { n.price = price("44.40"); });
  }
  sheet.add("fell under, straight past the loss limit", fell_under, Weight::heavy,
            [](Notice& n) { n.price = price("44.00"); });
  sheet.add("left the range while the feed was blind", left_range, Weight::heavy, [](Notice& n) {
    n.price = price("51.10");
    n.in_hole = true;
  });
}

void add_rest(Sheet& sheet) {
  using enum NoticeKind;
  const WordingContext feed{"live", "", std::chrono::hours(-5)};
  sheet.add("halted", halted, Weight::heavy);
  sheet.add("halted, no price yet", halted, Weight::unknown, [](Notice& n) { n.price = {}; });
  sheet.add("resumed", resumed, Weight::heavy);
  sheet.add("resumed, no price yet", resumed, Weight::unknown, [](Notice& n) { n.price = n.price_before = {}; });
  sheet.add(
      "feed silent", feed_silent, Weight::unknown,
      [](Notice& n) { n.detail = "No message for 15 s; connecting again in 2 s."; }, feed);
  sheet.add(
      "feed late", feed_late, Weight::unknown, [](Notice& n) { n.detail = "Its data is 15 min 3 s old."; }, feed);
  sheet.add(
      "feed back", feed_back, Weight::unknown, [](Notice& n) { n.detail = "Blind from 10:31:12 to 10:42:05."; }, feed);
  sheet.add("feed back, without a detail", feed_back, Weight::unknown, {}, feed);
  sheet.add("corrected", corrected, Weight::heavy, [](Notice& n) {
    n.price = price("48.41");
    n.price_before = price("48.20");
    n.side = Side::under;
  });
  sheet.add("corrected, nothing known besides", corrected, Weight::unknown,
            [](Notice& n) { n.price = n.price_before = {}; });
  const auto day_volume = [](Notice& n, double surge) {
    n.volume = sample_volume(Weight::heavy);
    n.volume.so_far = Shares::whole(static_cast<std::int64_t>(1'290'000 * (1 + surge / 100)));
    n.volume.surge = surge;
  };
  sheet.add("day end, inside, volume reached", day_end, Weight::heavy, [&](Notice& n) {
    day_volume(n, 85.2);
    n.price = price("49.10");
  });
  sheet.add("day end, under, volume not reached", day_end, Weight::light, [&](Notice& n) {
    day_volume(n, -3.4);
    n.price = price("47.10");
    n.side = Side::under;
  });
  sheet.add("day end, over, normal volume not known, hole", day_end, Weight::unknown, [](Notice& n) {
    n.price = price("52.00");
    n.side = Side::over;
    n.volume.missed_minutes = 31;
  });
  sheet.add("self-check of a watch", self_check, Weight::unknown, [](Notice& n) {
    n.detail =
        "price 24.10 does not fit the pivot 48.35; looks like a 2:1 split. No crossing is told until the "
        "pivot is corrected in weekend.toml:12.";
  });
  sheet.add("self-check of the program", self_check, Weight::unknown,
            [](Notice& n) { n.detail = "channel mail: 3 notices could not be delivered; last answer 535 not accepted."; },
            {"", "", std::chrono::hours(-5)});
}

void add_doubts(Sheet& sheet) {
  using enum NoticeKind;
  sheet.add("crossed, the last to be told today, nine minutes before the close", crossed, Weight::heavy, [](Notice& n) {
    n.count = 3;
    n.last_today = true;
    n.to_close = 9 * kMinute;
  });
  sheet.add("crossed, held back", crossed, Weight::heavy, [](Notice& n) {
    n.held = true;
    n.trend = Trend::down;
  });
  sheet.add("crossed, told when the market turned", crossed, Weight::unsettled,
            [](Notice& n) { n.detail = kHeldUntilNow; });
  sheet.add("gain", NoticeKind::gain, Weight::heavy, [](Notice&) {});
  sheet.add("loss limit of a holding", loss_limit, Weight::light, [](Notice& n) {
    n.bought = price("50.00");
    n.loss_limit = price("46.00");
    n.price = price("45.97");
  });
  sheet.add("day's end of a holding", NoticeKind::day_end, Weight::heavy, [](Notice& n) {
    n.bought = price("48.60");
    n.loss_limit = price("44.712");
  });
  sheet.add("left the range, muted", left_range, Weight::heavy, [](Notice& n) {
    n.price = price("50.90");
    n.muted = true;
  });
  sheet.add("loss limit, which may be a split", loss_limit, Weight::heavy, [](Notice& n) {
    n.price = price("24.10");
    n.doubtful = true;
  });
  sheet.add("crossed, on a normal volume of three days", crossed, Weight::heavy,
            [](Notice& n) { n.volume.normal_days = 3; });
  sheet.add("crossed, volume past the mark", crossed, Weight::heavy,
            [](Notice& n) { n.volume.so_far = Shares::whole(1'900'000); });
  sheet.add("crossed, normal volume in lots", crossed, Weight::heavy, [](Notice& n) {
    n.volume.so_far = Shares::whole(1'310'000);
    n.volume.normal = Shares::whole(12'900);
    n.volume.surge = 10'058;
  });
  sheet.add("crossed, too little heard", crossed, Weight::unknown,
            [](Notice& n) { n.volume.why_not = NoJudgement::heard_too_little; });
  sheet.add("crossed, day volume unclear", crossed, Weight::unknown,
            [](Notice& n) { n.volume.why_not = NoJudgement::day_volume_unclear; });
  sheet.add("day end, first over the pivot at the close", day_end, Weight::light, [](Notice& n) {
    n.price = price("48.90");
    n.detail = kFirstAtClose;
  });
  sheet.add("day end, still halted", day_end, Weight::light, [](Notice& n) { n.detail = kStillHalted; });
  sheet.add("halted for the second time", halted, Weight::heavy, [](Notice& n) { n.count = 2; });
}

// Read aloud when it changes: the file is what people will be told, word for word. BRIMWATCH_UPDATE_GOLDEN=1 writes it
// anew.
TEST(Wording, EveryKindSaysWhatTheGoldenFileSays) {
  Sheet sheet;
  add_crossings(sheet);
  add_volume(sheet);
  add_sides(sheet);
  add_rest(sheet);
  add_doubts(sheet);
  if (std::getenv("BRIMWATCH_UPDATE_GOLDEN") != nullptr) std::ofstream(kGolden) << sheet.text();
  std::ostringstream expected;
  expected << std::ifstream(kGolden).rdbuf();
  ASSERT_FALSE(expected.str().empty()) << kGolden;
  std::istringstream want(expected.str()), have(sheet.text());
  std::string want_line, have_line;
  for (int line = 1; std::getline(want, want_line); ++line) {
    ASSERT_TRUE(std::getline(have, have_line)) << kGolden << ":" << line;
    ASSERT_EQ(have_line, want_line) << kGolden << ":" << line;
  }
  EXPECT_FALSE(std::getline(have, have_line)) << "more notices than the golden file has: " << have_line;
}

TEST(Wording, LinesAndTitlesKeepTheirBounds) {
  for (int kind = 0; kind < kNoticeKinds; ++kind) {
    Notice notice = sample_notice(static_cast<NoticeKind>(kind), Weight::heavy);
    notice.marked = notice.delayed = notice.in_hole = true;
    notice.trend = Trend::down;
    notice.pivot = price("123456.789012");
    notice.price = price("123999.123456");
    notice.detail = std::string(5000, 'x') + " and more";
    const NoticeRecord record = word(notice, {"A.SYMBOL-THAT.IS/LONGER-THAN-ANY", "note", {}});
    EXPECT_LE(length_of(record.title), kTitleMost) << record.title;
    EXPECT_LE(record.text.size(), 2500U);
    if (notice.kind == NoticeKind::self_check) continue;  // a word of 600 letters has no blank to break at
    notice.detail.clear();
    std::istringstream lines(word(notice, {"KLVN", "note", {}}).text);
    for (std::string line; std::getline(lines, line);) EXPECT_LE(length_of(line), kTextWidth) << line;
  }
}

TEST(Wording, IdSymbolAndNoteStayAsTheyCame) {
  const NoticeRecord record = sample_record();
  EXPECT_EQ(record.id, "2026-11-25/KLVN/48.35/crossed/1");
  EXPECT_EQ(record.symbol, "KLVN");
  EXPECT_EQ(record.note, "cup with handle, 9 weeks");
  EXPECT_EQ(record.offset, std::chrono::hours(-5));
}

TEST(Wording, HostileNamesAndNotesCannotBreakTheLine) {
  Notice notice = sample_notice();
  const NoticeRecord record = word(notice, {"KL\r\nVN\x1b[31m", "a\nBcc: x@y\xff\xe2\x80\xae!", {}});
  EXPECT_EQ(record.title.find_first_of("\r\n\x1b"), std::string::npos);
  EXPECT_EQ(record.text.find_first_of("\r\x1b"), std::string::npos);
  EXPECT_NE(record.text.find("note: a Bcc: x@y\xEF\xBF\xBD !"), std::string::npos) << record.text;
}

TEST(Wording, OddsNeverSoundCertain) {
  EXPECT_EQ(odds_text(0, Weight::light), "<0.01");
  EXPECT_EQ(odds_text(0.004999, Weight::light), "<0.01");
  EXPECT_EQ(odds_text(0.7, Weight::heavy), "0.70");
  EXPECT_EQ(odds_text(0.995, Weight::heavy), ">0.99");
  EXPECT_EQ(odds_text(1, Weight::heavy), ">0.99");
}

TEST(Wording, unsettled_odds_never_read_as_a_threshold_that_they_have_not_reached) {
  EXPECT_EQ(odds_text(0.6990, Weight::unsettled), "0.69");
  EXPECT_EQ(odds_text(0.6999999, Weight::unsettled), "0.69");
  EXPECT_EQ(odds_text(0.3001, Weight::unsettled), "0.31");
  EXPECT_EQ(odds_text(0.57, Weight::unsettled), "0.57");
  EXPECT_EQ(odds_text(0.44, Weight::unsettled), "0.44");
  EXPECT_EQ(odds_text(0.7049, Weight::heavy), "0.70");
  EXPECT_EQ(odds_text(0.2951, Weight::light), "0.30");
}

TEST(Wording, PercentsAndSpansReadNaturally) {
  EXPECT_EQ(percent_from(price("48.41"), price("48.35")), "+0.1 %");
  EXPECT_EQ(percent_from(price("48.35"), price("48.35")), "+0.0 %");
  EXPECT_EQ(percent_from(price("48.36"), price("48.35")), "+0.02 %");
  EXPECT_EQ(percent_from(price("48.3499"), price("48.35")), "+0.00 %");
  EXPECT_EQ(percent_from(price("44.482"), price("48.35")), "-8.0 %");
  EXPECT_EQ(span_text(412'000'000), "0.4 s");
  EXPECT_EQ(span_text(45 * kSecond), "45 s");
  EXPECT_EQ(span_text(15 * kMinute), "15 min");
  EXPECT_EQ(span_text(3 * kHour + 5 * kMinute), "3 h 05 min");
}

}  // namespace
}  // namespace brimwatch
