// Subjects of digests, as they stand in a list of mails.
#include "dispatch/digest_words.h"

#include <gtest/gtest.h>

#include "core/text/text.h"
#include "core/wording.h"
#include "tests/support/sample_notice.h"

namespace brimwatch {
namespace {

NoticeRecord about(const char* symbol, NoticeKind kind, Weight weight = Weight::heavy) {
  return word(testing_support::sample_notice(kind, weight), {symbol, "", {}});
}

std::string title_of(const std::vector<NoticeRecord>& records) {
  std::vector<const NoticeRecord*> notices;
  for (const NoticeRecord& one : records) notices.push_back(&one);
  return digest_title(notices);
}

TEST(DigestWords, TheDaysEndSaysHowManyAndHowManyInside) {
  std::vector<NoticeRecord> records(10, about("KLVN", NoticeKind::day_end));
  for (std::size_t i = 2; i < records.size(); ++i) records[i].notice.side = Side::under;
  EXPECT_EQ(title_of(records), "Day's end: 10 watches, 2 inside");
  records[0].notice.side = records[1].notice.side = Side::over;
  EXPECT_EQ(title_of(records), "Day's end: 10 watches, none inside");
}

TEST(DigestWords, WhatPressesMostComesFirst) {
  EXPECT_EQ(title_of({about("ORRI", NoticeKind::volume_faded), about("KLVN", NoticeKind::crossed),
                      about("TAMBU", NoticeKind::crossed, Weight::light)}),
            "2 crossed (1 heavy), 1 volume faded: ORRI, KLVN, TAMBU");
  EXPECT_EQ(title_of({about("KLVN", NoticeKind::day_end), about("KLVN", NoticeKind::crossed)}),
            "1 crossed (1 heavy), 1 ended the day: KLVN");
}

TEST(DigestWords, ManyKindsAreNotAllNamed) {
  std::vector<NoticeRecord> records;
  for (int i = 0; i < kNoticeKinds; ++i) records.push_back(about("KLVN", static_cast<NoticeKind>(i)));
  const std::string title = title_of(records);
  EXPECT_LE(length_of(title), kTitleMost) << title;
  EXPECT_NE(title.find(" more"), std::string::npos) << title;
}

}  // namespace
}  // namespace brimwatch
