// Answers in the shapes that general sources of daily bars have (from memory, without any one's name), all of the same
// two days, and read on by the reader of daily files.
#include "adapters/sources/answer.h"

#include <gmock/gmock.h>

#include "bars/daily_text.h"

namespace brimwatch {
namespace {

using testing::ElementsAre;

const DailyBar kFirst{Date::of(2026, 11, 24), Price{48'350'000}, Price{49'500'000},
                      Price{48'100'000},      Price{49'250'000}, 1'234'567};
const DailyBar kSecond{Date::of(2026, 11, 25), Price{49'300'000}, Price{50'000'000},
                       Price{49'000'000},      Price{49'900'000}, 950'000};

void holds_both(const std::string& body, const std::string& format = "json", const SourceFields& fields = {}) {
  HistorySource source;
  source.format = format;
  source.fields = fields;
  const auto answer = read_answer(body, source);
  ASSERT_TRUE(answer) << answer.error().text;
  EXPECT_EQ(answer->rows, 2U) << body;
  const auto series = parse_daily(answer->text, "KLVN", "answer", DailyRows::every);
  ASSERT_TRUE(series) << series.error().text << "\n" << answer->text;
  EXPECT_THAT(series->bars, ElementsAre(kFirst, kSecond)) << body;
}

SourceFields named(const char* date, const char* open, const char* high, const char* low, const char* close,
                   const char* volume) {
  SourceFields out;
  out.date = date, out.open = open, out.high = high, out.low = low, out.close = close, out.volume = volume;
  return out;
}

TEST(SourceAnswer, ListsOfObjects) {
  holds_both(R"([{"date":"2026-11-25","open":49.3,"high":50,"low":49.0,"close":49.90,"volume":950000},
                 {"date":"2026-11-24","open":48.35,"high":49.5,"low":48.1,"close":49.25,"volume":1234567}])");
  holds_both(R"({"status":"fine","count":2,"results":[
                 {"t":1795478400000,"o":48.35,"h":49.5,"l":48.1,"c":49.25,"v":1234567,"n":9,"vw":48.9},
                 {"t":1795564800000,"o":"49.30","h":"50","l":"49","c":"49.9","v":"950000"}],"next":null})");
  holds_both(R"({"data":{"bars":[{"day":"2026-11-24T05:00:00Z","p":{"o":48.35,"h":49.5,"l":48.1,"c":49.25},"q":1234567},
                 {"day":"2026-11-25T05:00:00Z","p":{"o":49.3,"h":50,"l":49,"c":49.9},"q":950000}]}})",
             "json", named("/day", "/p/o", "/p/h", "/p/l", "/p/c", "/q"));
}

TEST(SourceAnswer, ListsOfListsColumnsAndDaysAsNames) {
  holds_both(R"({"rows":[["2026-11-24",48.35,49.5,48.1,49.25,1234567],["2026-11-25",49.3,50,49,49.9,950000]]})", "json",
             named("/0", "/1", "/2", "/3", "/4", "/5"));
  holds_both(R"({"s":"ok","t":[1795478400,1795564800],"o":[48.35,49.3],"h":[49.5,50],"l":[48.1,49],"c":[49.25,49.9],
                 "v":[1234567,950000]})");
  holds_both(R"({"Meta":{"1. Symbol":"KLVN"},"Series Daily":{
    "2026-11-25"
        : {"1. open" : "49.3000", "2. high" : "50.0", "3. low" : "49.0", "4. close" : "49.9", "5. volume" : "950000"},
          "2026-11-24" : {
      "1. open" : "48.35", "2. high" : "49.5", "3. low" : "48.1", "4. close" : "49.25", "5. volume" : "1234567"
    }}
})");
}

// Found by tests/fuzz/source_fuzz: a list that the configuration names and the answer lacks was asked for its length.
TEST(SourceAnswer, AColumnThatTheAnswerLacksIsEmpty) {
  const auto answer = read_answer(R"({"t":["2026-11-24","2026-11-25"],"v":[1300000,1100000]})", [] {
    HistorySource source;
    source.format = "json";
    source.fields.date = "/t", source.fields.close = "/c";
    return source;
  }());
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->rows, 2U);
  EXPECT_EQ(answer->text, "date,close,v\n2026-11-24,,1300000\n2026-11-25,,1100000\n");
}

TEST(SourceAnswer, CsvByTheNamesThatWereSaid) {
  holds_both("d;a;b;c;e;f\n24.11.2026;48,35;49,50;48,10;49,25;1234567\n25.11.2026;49,30;50,00;49,00;49,90;950000\n",
             "csv", named("d", "a", "b", "c", "e", "f"));
}

TEST(SourceAnswer, TheNextPageAndNoRows) {
  HistorySource source;
  source.format = "json";
  source.fields.rows = "/r", source.fields.next = "/links/next";
  EXPECT_EQ(read_answer(R"({"r":[],"links":{"next":"https://h/p2"}})", source)->next, "https://h/p2");
  EXPECT_EQ(read_answer(R"({"r":null,"links":{"next":null}})", source)->rows, 0U);
  source.format = "csv";
  EXPECT_EQ(read_answer("date,close\n", source)->rows, 0U);
  EXPECT_EQ(read_answer("", source)->rows, 0U);
}

std::string refused(const std::string& body, const std::string& format, const std::string& rows = "") {
  HistorySource source;
  source.format = format;
  source.fields.rows = rows;
  const auto answer = read_answer(body, source);
  return answer ? "taken" : answer.error().text;
}

TEST(SourceAnswer, WhatIsNoAnswerIsSaidInItsOwnWords) {
  const std::string nothing = "; nothing was changed";
  for (const char* body :
       {"Error: unknown symbol", "Error: unknown symbol\n", "\r\nError: unknown symbol\r\nSee the manual\r\n"})
    EXPECT_EQ(refused(body, "csv"), "the source answered no table: \"Error: unknown symbol\"" + nothing);
  EXPECT_EQ(refused("No data found, it may be delisted on that date", "csv"),
            "the source answered no table: \"No data found, it may be delisted on that date\"" + nothing);
  EXPECT_EQ(refused(R"({"error":"limit"})", "csv"),
            "the source answered JSON, and format is \"csv\": \"limit\"" + nothing);
  EXPECT_EQ(refused("<html>busy</html>", "csv"), "the source answered a page, and no CSV: \"busy\"" + nothing);
  EXPECT_EQ(refused("<html>busy</html>", "json"), "the source answered no JSON: \"busy\"" + nothing);
  EXPECT_EQ(refused("Error: unknown symbol", "json"), "the source answered no JSON: \"Error: unknown symbol\"" + nothing);
  EXPECT_EQ(refused(R"({"error":"limit"})", "json", "/bars"),
            "the source answered with nothing at /bars: \"limit\"" + nothing);
}

TEST(SourceAnswer, AnErrorInJsonIsNoEmptyAnswer) {
  for (const char* body : {R"({"error":"unknown symbol"})", R"({"error":"unknown symbol","results":[]})",
                           R"({"code":404,"message":"unknown symbol"})", R"({"Error Message":"unknown symbol"})",
                           R"({"errors":[{"code":4,"message":"unknown symbol"}]})"})
    EXPECT_EQ(refused(body, "json"), "the source answered without data: \"unknown symbol\"; nothing was changed") << body;
  for (const char* none : {R"({"message":"success","data":[]})", R"({"status":"ok","count":0,"results":null})", "[]",
                           "{}", R"({"error":null,"results":[]})", R"({"error":"","results":{}})"})
    EXPECT_EQ(refused(none, "json"), "taken") << none;
  EXPECT_EQ(
      refused(R"({"error":"some days are late","results":[{"date":"2026-11-25","close":49.9,"volume":950000}]})", "json"),
      "taken");
}

TEST(SourceAnswer, AHeaderAloneIsATableWithoutRows) {
  for (const char* header :
       {"date,open,high,low,close,volume", "Timestamp;Close;Volume\n", "t,c,v\r\n", "\"Trade Date\",close\n"})
    EXPECT_EQ(refused(header, "csv"), "taken") << header;
}

}  // namespace
}  // namespace brimwatch
