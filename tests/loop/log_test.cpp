// The log's lines in each form, read back by others: JSON by nlohmann, times by their own form (RFC 3339, section 5.6),
// priorities as sd-daemon(3) and syslog(3) have them.
#include <gmock/gmock.h>
#include <spdlog/details/log_msg.h>
#include <sys/stat.h>

#include <cstdlib>

#include "core/text/json.h"
#include "loop/journald.h"
#include "loop/log_line.h"

namespace brimwatch {
namespace {

using testing::MatchesRegex;

std::string line(LineForm form, spdlog::level::level_enum level, std::string_view text, const LogFields& fields = {}) {
  const std::string payload = packed(text, fields);
  spdlog::details::log_msg message("brimwatch", level, payload);
  message.time = spdlog::log_clock::time_point(std::chrono::milliseconds(1'795'622'400'250));
  return written_line(form, message);
}

TEST(LogLine, ForPeopleHasItsTimeWithZoneAlways) {
  EXPECT_THAT(line(LineForm::text, spdlog::level::warn, "feed main: down", {.feed = "main"}),
              MatchesRegex("2026-11-2[56] [0-9:]+\\.250 [+-][0-9][0-9]:[0-9][0-9] warning feed main: down\n"));
}

TEST(LogLine, InJsonIsOneObjectWithTimeLevelMessageAndFields) {
  const std::string text = line(LineForm::json, spdlog::level::err, "channel mail: \"550\" \\ gone",
                                {.channel = "mail", .notice = "a/b", .kind = "crossed", .symbol = "KLVN"});
  EXPECT_EQ(text.find('\n'), text.size() - 1);
  const auto read = Json::parse(text);
  EXPECT_EQ(read, (Json{{"time", "2026-11-25T16:00:00.25Z"},
                        {"level", "error"},
                        {"message", "channel mail: \"550\" \\ gone"},
                        {"channel", "mail"},
                        {"notice", "a/b"},
                        {"kind", "crossed"},
                        {"symbol", "KLVN"}}));
}

TEST(LogLine, WithoutFieldsHasNone) {
  const auto read = Json::parse(line(LineForm::json, spdlog::level::info, "up"));
  EXPECT_EQ(read.size(), 3U);
  EXPECT_EQ(read["level"], "info");
}

/// Bytes that are no UTF-8 come from outside; a reader of JSON must not stumble over them.
TEST(LogLine, InJsonIsAlwaysJson) { EXPECT_TRUE(Json::accept(line(LineForm::json, spdlog::level::info, "\xff\xfe"))); }

TEST(LogLine, ForJournaldSaysItsPriority) {
  EXPECT_EQ(line(LineForm::text_for_journald, spdlog::level::err, "a"), "<3>a\n");
  EXPECT_EQ(line(LineForm::text_for_journald, spdlog::level::warn, "a"), "<4>a\n");
  EXPECT_EQ(line(LineForm::text_for_journald, spdlog::level::info, "a"), "<6>a\n");
  EXPECT_EQ(line(LineForm::text_for_journald, spdlog::level::debug, "a"), "<7>a\n");
  EXPECT_THAT(line(LineForm::json_for_journald, spdlog::level::info, "a"), testing::StartsWith("<6>{\"time\":"));
}

/// systemd.exec(5): device and inode of the stream; one who led standard error elsewhere since is not with journald.
TEST(Journald, IsThereWhereTheVariableNamesThisVeryStream) {
  ::unsetenv("JOURNAL_STREAM");
  EXPECT_FALSE(is_journald(2));
  struct stat seen {};
  ASSERT_EQ(::fstat(2, &seen), 0);
  const std::string here = std::to_string(seen.st_dev) + ":" + std::to_string(seen.st_ino);
  ::setenv("JOURNAL_STREAM", here.c_str(), 1);
  EXPECT_TRUE(is_journald(2));
  ::setenv("JOURNAL_STREAM", (here + "1").c_str(), 1);
  EXPECT_FALSE(is_journald(2));
  ::unsetenv("JOURNAL_STREAM");
}

}  // namespace
}  // namespace brimwatch
