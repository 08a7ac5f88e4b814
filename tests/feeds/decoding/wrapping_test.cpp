// What stands around a message: packing, MessagePack, server-sent events; and times of a zone.
#include <gmock/gmock.h>

#include <chrono>
#include <cmath>
#include <random>

#include "adapters/feeds/decoding/event_text.h"
#include "adapters/feeds/decoding/lines_text.h"
#include "adapters/feeds/decoding/msgpack.h"
#include "adapters/feeds/decoding/unpack.h"
#include "adapters/feeds/decoding/zoned_time.h"
#include "core/text/json.h"
#include "feeds/decoding/packed.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;

std::string bytes_of(const Json& value) {
  const auto bytes = Json::to_msgpack(value);
  return {bytes.begin(), bytes.end()};
}

/// A JSON value made by chance, of every shape.
Json random_value(std::mt19937& random, int depth) {
  switch (random() % (depth > 3 ? 6 : 8)) {
    case 0:
      return nullptr;
    case 1:
      return random() % 2 == 0;
    case 2:
      return static_cast<std::int64_t>(random()) - static_cast<std::int64_t>(random()) * 300'000;
    case 3:
      return std::uint64_t{random()} * random();
    case 4:
      // Of more digits than a 32-bit float has: that one gets the shortest text of its own.
      return std::ldexp(static_cast<double>(random()) * 4294967296.0 + static_cast<double>(random() | 1U),
                        static_cast<int>(random() % 60) - 60);
    case 5:
      return std::string(random() % 300, static_cast<char>(' ' + random() % 90)) + "\"\\\n\t\u20ac";
    case 6: {
      Json list = Json::array();
      for (auto n = random() % 20; n > 0; --n) list.push_back(random_value(random, depth + 1));
      return list;
    }
    default: {
      Json object = Json::object();
      for (auto n = random() % 20; n > 0; --n)
        object["k" + std::to_string(random() % 100)] = random_value(random, depth + 1);
      return object;
    }
  }
}

// nlohmann-json, another implementation, writes MessagePack; what is made of it reads back as the value it began with.
TEST(MessagePack, SaysWhatAnotherImplementationWrote) {
  std::mt19937 random(7);
  for (int i = 0; i < 500; ++i) {
    const Json value = random_value(random, 0);
    std::string text;
    ASSERT_EQ(json_of_msgpack(bytes_of(value), 1 << 22, text), "") << value;
    EXPECT_TRUE(Json::parse(text) == value) << text.substr(0, 500);
  }
}

TEST(MessagePack, GivesA32BitFloatItsShortestText) {
  using namespace std::string_literals;
  std::string text;
  EXPECT_EQ(json_of_msgpack("\xCA\x42\x41\x66\x66"s, 100, text), "");  // 48.35f
  EXPECT_EQ(text, "48.35");
}

// The specification's section "Timestamp extension type".
TEST(MessagePack, ReadsItsTimestamps) {
  using namespace std::string_literals;
  for (const auto& [bytes, wanted] :
       {std::pair("\xD6\xFF\x6A\xCF\x8A\xE0"s, "\"2026-10-14T14:00:00Z\""),
        std::pair("\xD7\xFF\x00\x00\x00\x04\x6A\xCF\x8A\xE0"s, "\"2026-10-14T14:00:00.000000001Z\""),
        std::pair("\xC7\x0C\xFF\x00\x00\x00\x01\x00\x00\x00\x00\x6A\xCF\x8A\xE0"s,
                  "\"2026-10-14T14:00:00.000000001Z\"")}) {
    std::string text;
    EXPECT_EQ(json_of_msgpack(bytes, 100, text), "");
    EXPECT_EQ(text, wanted);
  }
}

TEST(MessagePack, RefusesWhatIsNone) {
  using namespace std::string_literals;
  std::string text;
  EXPECT_NE(json_of_msgpack("\xC1"s, 100, text), "");
  EXPECT_NE(json_of_msgpack("\x92\x01"s, 100, text), "") << "cut off";
  EXPECT_NE(json_of_msgpack("\x01\x01"s, 100, text), "") << "more behind";
  EXPECT_NE(json_of_msgpack(std::string(1000, '\x91'), 100'000, text), "") << "nested too deeply";
  EXPECT_NE(json_of_msgpack("\xDD\xFF\xFF\xFF\xFF"s + std::string(5000, '\x01'), 1000, text), "") << "too long";
}

TEST(Unpack, HoldsToItsBoundWhateverTheBytesClaim) {
  const std::string large(10'000'000, ' ');
  const std::string packed = with_zlib(large, kGzip);
  Unpacker gzip(Packing::gzip);
  EXPECT_EQ(gzip.unpack(packed, 1'000'000).data(), nullptr);
  EXPECT_EQ(gzip.fault(), "unpacked it is longer than the 1000000 bytes allowed");
  EXPECT_EQ(gzip.unpack(packed, large.size()), large);
  EXPECT_EQ(gzip.unpack(packed.substr(0, packed.size() / 2), large.size()).data(), nullptr) << "cut off";
  EXPECT_EQ(gzip.unpack(packed + "x", large.size()).data(), nullptr) << "more behind";
}

TEST(Unpack, LeavesWhatIsNotPackedAndRefusesWhatIsDamaged) {
  Unpacker none(Packing::none), gzip(Packing::gzip), zstd(Packing::zstd), deflate(Packing::deflate);
  EXPECT_EQ(none.unpack("x", 10), "x");
  for (Unpacker* one : {&gzip, &zstd, &deflate}) {
    EXPECT_EQ(one->unpack("{\"answer\":1}", 100), "{\"answer\":1}") << "some pack data only";
    EXPECT_EQ(one->unpack("\x1F\x8B\x08garbage", 100).data(), nullptr);
    EXPECT_NE(one->fault(), "");
  }
}

std::vector<std::string> events_of(std::string_view text, std::size_t step) {
  std::vector<std::string> out;
  EventSplitter splitter(200, [&](std::string_view event) {
    const EventParts parts = parse_event(event);
    out.push_back(parts.name + "|" + parts.data + "|" + parts.id.value_or("-") + "|" +
                  (parts.retry_ms ? std::to_string(*parts.retry_ms) : "-"));
  });
  for (std::size_t at = 0; at < text.size(); at += step) splitter.add(text.substr(at, step));
  return out;
}

// The HTML standard, section 9.2.6 "Interpreting an event stream": its examples.
TEST(Events, AreReadAsTheStandardsExamplesSay) {
  for (std::size_t step : {1U, 2U, 3U, 1000U}) {
    EXPECT_THAT(events_of("data: YHOO\ndata: +2\ndata: 10\n\n", step), ElementsAre("|YHOO\n+2\n10|-|-"));
    EXPECT_THAT(
        events_of(": test stream\n\ndata: first event\nid: 1\n\ndata:second event\nid\n\ndata:  third event\n\n", step),
        ElementsAre("||-|-", "|first event|1|-", "|second event||-", "| third event|-|-"));
    EXPECT_THAT(events_of("data\n\ndata\ndata\n\ndata:", step), ElementsAre("||-|-", "|\n|-|-"));
    EXPECT_THAT(events_of("event: add\r\ndata: 1\r\rretry: 10\rretry: x\r\n\r\n", step),
                ElementsAre("add|1|-|-", "||-|10"));
  }
}

TEST(Events, OneThatIsTooLongIsDroppedAndSaidInItsPlace) {
  std::string seen;
  EventSplitter splitter(
      20, [&](std::string_view) { seen += "event "; }, [&] { seen += "long "; });
  splitter.add("data: 0\n\ndata: " + std::string(50, 'x') + "\n\ndata: 1\n\n");
  EXPECT_EQ(seen, "event long event ");
  splitter.add(std::string(50, 'x'));
  EXPECT_EQ(seen, "event long event long ") << "one that never ends is said too";
}

TEST(ZonedTime, ReadsOffsetsWithoutAColonAndTimesWithoutAny) {
  const auto zone = read_zone("America/New_York").value();
  const auto at = [&](std::string_view text) {
    const auto time = parse_zoned(text, zone);
    return time ? to_rfc3339(*time) : std::string("none");
  };
  EXPECT_EQ(at("2026-10-14T14:00:00.5+0000"), "2026-10-14T14:00:00.5Z");
  EXPECT_EQ(at("2026-10-14T10:00:00-0400"), "2026-10-14T14:00:00Z");
  EXPECT_EQ(at("2026-10-14T10:00:00-04"), "2026-10-14T14:00:00Z");
  EXPECT_EQ(at("2026-10-14 10:00:00"), "2026-10-14T14:00:00Z") << "summer";
  EXPECT_EQ(at("2026-12-01T10:00:00.25"), "2026-12-01T15:00:00.25Z") << "winter";
  EXPECT_EQ(at("2026-11-01T01:30:00"), "2026-11-01T05:30:00Z") << "of the hour that comes twice, the first";
  EXPECT_EQ(at("2026-11-01T02:30:00"), "2026-11-01T07:30:00Z");
  EXPECT_EQ(at("2026-03-08T01:59:59"), "2026-03-08T06:59:59Z");
  EXPECT_EQ(at("2026-03-08T03:00:00"), "2026-03-08T07:00:00Z");
  EXPECT_EQ(at("2026-10-14"), "none");
  EXPECT_EQ(at("2026-10-14T10:00:00+"), "none");
  EXPECT_FALSE(parse_zoned("2026-10-14T10:00:00", {})) << "no zone is known";
  EXPECT_FALSE(read_zone("Mars/Olympus"));
}

TEST(ZonedTime, DatesMayHaveSlashesAndTheFixProtocolsForm) {
  EXPECT_EQ(parse_zoned("2026/10/14T14:00:01Z", {}), parse_rfc3339("2026-10-14T14:00:01Z"));
  EXPECT_EQ(parse_zoned("20261014-14:00:01.25", {}), parse_rfc3339("2026-10-14T14:00:01.25Z"));
  EXPECT_FALSE(parse_zoned("20261014-14:00", {}));
  EXPECT_FALSE(parse_zoned("2026/10/14", {}));
}

// RFC 4180, section 2: quotes around a field, doubled inside it.
TEST(Lines, ReadsQuotedValuesAsTheRfcHasThem) {
  std::string text;
  EXPECT_EQ(json_of_lines("\"aaa\",\"b\"\"b,b\",ccc", "csv", text), "");
  EXPECT_EQ(text, R"(["aaa","b\"b,b","ccc"])");
  text.clear();
  EXPECT_EQ(json_of_lines("a;b;\n;;\r\n", "csv", text), "");
  EXPECT_EQ(text, R"([["a","b",""],["","",""]])");
}

TEST(Lines, AnyBytesGiveJson) {
  std::mt19937 random(11);
  for (int i = 0; i < 2000; ++i) {
    std::string bytes, text;
    for (auto n = random() % 40; n > 0; --n) bytes += ",;|\t\"\n=a1\x01"[random() % 10];
    ASSERT_EQ(json_of_lines(bytes, "csv", text), "");
    EXPECT_TRUE(Json::accept(text)) << bytes << " -> " << text;
    text.clear();
    if (json_of_lines(bytes, "tags", text).empty()) {
      EXPECT_TRUE(Json::accept(text)) << bytes << " -> " << text;
    }
  }
}

}  // namespace
}  // namespace brimwatch
