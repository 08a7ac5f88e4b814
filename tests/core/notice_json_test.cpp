#include "core/text/notice_json.h"

#include <gtest/gtest.h>

#include <limits>

#include "core/text/json.h"
#include "tests/support/hostile_text.h"
#include "tests/support/sample_notice.h"

namespace brimwatch {
namespace {

using testing_support::sample_notice;
using testing_support::sample_record;

TEST(NoticeJson, IsTheseBytes) {
  NoticeRecord record = sample_record();
  record.title = "title";
  record.text = "text";
  EXPECT_EQ(
      to_json(record),
      R"({"id":"2026-11-25/KLVN/48.35/crossed/1","time":"2026-11-25T10:42:07.25-05:00","day":"2026-11-25",)"
      R"("symbol":"KLVN","kind":"crossed","pivot":48.35,"range_top":50.76,"loss_limit":44.48,"price":48.41,)"
      R"("price_before":48.29,"side":"inside","volume":612000,"normal_volume":1290000,"projected_volume":2296000,)"
      R"("projected_low":1900000,"projected_high":2800000,"projected_surge":78.0,"needed_surge":40.0,"odds":0.9400,)"
      R"("weight":"heavy","trend":"up","age_seconds":0.412,"title":"title","text":"text",)"
      R"("note":"cup with handle, 9 weeks"})");
}

TEST(NoticeJson, WhatIsNotKnownIsNull) {
  Notice notice;
  notice.kind = NoticeKind::feed_silent;
  notice.time = Timestamp{kSecond};
  const OrderedJson json = OrderedJson::parse(to_json(word(notice, {"live", "", {}})));
  for (const char* key :
       {"pivot", "range_top", "loss_limit", "price", "price_before", "normal_volume", "projected_volume", "projected_low",
        "projected_high", "projected_surge", "odds", "age_seconds"}) {
    EXPECT_TRUE(json.at(key).is_null()) << key;
  }
  EXPECT_EQ(json.at("weight"), "unknown");
  EXPECT_EQ(json.at("time"), "1970-01-01T00:00:01Z");
}

TEST(NoticeJson, FeedRatioIsSaidWhereItCounts) {
  NoticeRecord record = sample_record();
  EXPECT_FALSE(OrderedJson::parse(to_json(record)).contains("feed_ratio"));
  record.notice.volume.feed_ratio = 0.0263;
  EXPECT_EQ(OrderedJson::parse(to_json(record)).at("feed_ratio"), 0.0263);
}

TEST(NoticeJson, NumbersThatAreNoneAreNullAndExtremesStayJson) {
  NoticeRecord record = sample_record();
  record.notice.volume.surge = std::numeric_limits<double>::quiet_NaN();
  record.notice.volume.projected = std::numeric_limits<double>::max();
  record.notice.volume.high = std::numeric_limits<double>::infinity();
  record.notice.volume.so_far = Shares{1};
  record.notice.price = Price{-1};
  const std::string text = to_json(record);
  const OrderedJson json = OrderedJson::parse(text);
  EXPECT_TRUE(json.at("projected_surge").is_null());
  EXPECT_TRUE(json.at("projected_high").is_null());
  EXPECT_NE(text.find(R"("volume":0.000001,)"), std::string::npos);
  EXPECT_NE(text.find(R"("price":-0.000001,)"), std::string::npos);
}

// The parser is nlohmann-json, which has no code in common with the writer.
TEST(NoticeJson, HostileTextStaysOneLineOfValidJson) {
  for (const std::string& hostile : testing_support::hostile_texts()) {
    const NoticeRecord record = word(sample_notice(), {hostile, hostile, std::chrono::hours(9)});
    const std::string text = to_json(record);
    EXPECT_EQ(text.find_first_of("\r\n"), std::string::npos);
    OrderedJson json;
    ASSERT_NO_THROW(json = OrderedJson::parse(text)) << text;
    EXPECT_EQ(json.size(), 25U);
    EXPECT_TRUE(json.at("symbol").is_string());
  }
}

}  // namespace
}  // namespace brimwatch
