// Rules of thumb (facts of the trade, common practice) and their configuration; events; the reader of daily bars.
#include <gmock/gmock.h>

#include "bars/daily_text.h"
#include "planted.h"
#include "weekend/events.h"
#include "weekend/facts.h"
#include "weekend/finder.h"

namespace brimwatch {
namespace {

using ::testing::HasSubstr;

Facts cup(double depth) {
  Facts f;
  f.kind = BaseKind::cup_with_handle;
  f.prior_rise = 40;
  f.depth = depth;
  f.length = 40;
  f.handle_place = 70;
  return f;
}

Verdict depth_verdict(const Facts& facts) { return judge(facts, {}).rules.at(1).verdict; }

TEST(Rules, want_a_cup_of_15_to_30_percent_and_allow_40_or_a_little_more_when_the_index_fell_hard) {
  EXPECT_EQ(depth_verdict(cup(14.9)), Verdict::broken);
  EXPECT_EQ(depth_verdict(cup(15)), Verdict::kept);
  EXPECT_EQ(depth_verdict(cup(30)), Verdict::kept);
  EXPECT_EQ(depth_verdict(cup(31)), Verdict::broken);
  Facts in_a_fall = cup(39);
  in_a_fall.index_fall = 5;
  EXPECT_EQ(depth_verdict(in_a_fall), Verdict::broken);
  in_a_fall.index_fall = 14;
  EXPECT_EQ(depth_verdict(in_a_fall), Verdict::kept);
  in_a_fall.depth = 46;
  EXPECT_EQ(depth_verdict(in_a_fall), Verdict::broken);
}

TEST(Rules, say_how_many_are_kept_and_which_are_not) {
  Facts f = cup(33);
  const Judgement out = judge(f, {});
  EXPECT_FALSE(out.core_kept);
  EXPECT_THAT(out.explained, HasSubstr("broken: depth"));
  EXPECT_THAT(out.explained, HasSubstr("not judged: "));
  int kept = 0, judged = 0;
  for (const RuleResult& rule : out.rules) {
    kept += rule.verdict == Verdict::kept;
    judged += rule.verdict != Verdict::unknown;
  }
  EXPECT_EQ(out.kept, kept);
  EXPECT_EQ(out.judged, judged);
  EXPECT_THAT(out.explained, HasSubstr(std::to_string(kept) + " of " + std::to_string(judged) + " rules kept"));
}

TEST(Rules, of_doubtful_bars_are_neither_kept_nor_broken) {
  const Judgement out = unjudged(judge(cup(33), {}), {"no volume on 3 of the last 50 sessions"});
  EXPECT_EQ(out.judged, 0);
  EXPECT_EQ(out.kept, 0);
  EXPECT_TRUE(out.core_kept);
  EXPECT_EQ(out.explained, "not judged: no volume on 3 of the last 50 sessions");
  for (const RuleResult& rule : out.rules) EXPECT_EQ(rule.verdict, Verdict::unknown) << rule.name;
}

TEST(Rules, take_the_markets_fall_by_closes) {
  std::vector<DailyBar> index(3);
  const Date day = Date::of(2026, 3, 2);
  index[0] = {day, Price{100'000'000}, Price{110'000'000}, Price{90'000'000}, Price{100'000'000}, 1};
  index[1] = {day + 1, Price{100'000'000}, Price{101'000'000}, Price{80'000'000}, Price{97'000'000}, 1};
  index[2] = {day + 2, Price{97'000'000}, Price{98'000'000}, Price{96'000'000}, Price{96'000'000}, 1};
  EXPECT_NEAR(*index_fall(index, day, day + 2), 4, 1e-9);  // by highs and lows it would be 27.3
}

TEST(RuleBook, prints_what_it_reads_and_names_the_place_of_an_error) {
  RuleBook book;
  book.handle_depth_most = 10;
  book.flat_length_least = 30;
  const auto again = parse_rules(to_toml(book), "rules.toml");
  ASSERT_TRUE(again) << again.error().text;
  EXPECT_EQ(to_toml(*again), to_toml(book));
  EXPECT_EQ(parse_rules("[prepare]\nrise_least = \"much\"\n", "r.toml").error().text,
            "r.toml:2:14: rise_least: found \"much\", expected a number from 0 to 1000; the rules were not loaded");
  EXPECT_THAT(parse_rules("rize_least = 3\n", "r.toml").error().text,
              HasSubstr("r.toml:1:14: unknown key \"rize_least\""));
  EXPECT_THAT(parse_rules("rise_least = \n", "r.toml").error().text, HasSubstr("r.toml:1:"));
}

TEST(Events, are_read_with_their_place_in_an_error) {
  const auto events =
      parse_price_events("date,symbol,ratio,dividend\n2026-03-02,KLVN,3:2,\n2026-04-01,KLVN,,0.55\n", "e.csv");
  ASSERT_TRUE(events) << events.error().text;
  EXPECT_DOUBLE_EQ(events->at("KLVN")[0].ratio, 1.5);
  EXPECT_EQ(events->at("KLVN")[1].amount.micros, 550'000);
  // Quotes as in any table (RFC 4180); a row that is wider than its header has values where they do not belong.
  const auto quoted = parse_price_events("date,symbol,ratio,note\r\n2026-03-02,\"KLVN\",3:2,\"one, two\"\r\n", "e.csv");
  ASSERT_TRUE(quoted) << quoted.error().text;
  EXPECT_DOUBLE_EQ(quoted->at("KLVN").front().ratio, 1.5);
  EXPECT_THAT(parse_price_events("date,symbol,dividend\n2026-03-02,KLVN,0,55\n", "e.csv").error().text,
              HasSubstr("e.csv:2:19: found 4 fields, expected the 3 of the header; the file was not used"));
  EXPECT_THAT(parse_price_events("date,symbol,ratio\n2026-03-02,\"KLVN,2\n", "e.csv").error().text,
              HasSubstr("e.csv:2:12: "));
  EXPECT_THAT(parse_price_events("date,symbol,ratio\n2026-03-02,KLVN,two\n", "e.csv").error().text,
              HasSubstr("e.csv:2:17: ratio: found \"two\", expected new shares for old ones such as 2:1"));
}

TEST(Events, a_large_dividend_moves_history_and_a_small_one_does_not) {
  std::vector<DailyBar> bars(2);
  bars[0] = {Date::of(2026, 3, 2), Price{100'000'000}, Price{100'000'000}, Price{100'000'000}, Price{100'000'000}, 1000};
  bars[1] = {Date::of(2026, 3, 3), Price{90'000'000}, Price{90'000'000}, Price{90'000'000}, Price{90'000'000}, 1000};
  auto large = bars, small = bars;
  EXPECT_EQ(adjust_history(large, {{bars[1].day, 1, Price{10'000'000}}}, 3).applied, 1);
  EXPECT_EQ(large[0].close.micros, 90'000'000);
  EXPECT_EQ(large[0].volume, 1000);
  EXPECT_EQ(adjust_history(small, {{bars[1].day, 1, Price{500'000}}}, 3).applied, 0);
  EXPECT_EQ(small, bars);
}

TEST(Daily, names_the_row_and_column_it_left_out) {
  const auto out = parse_daily("Date,Open,High,Low,Close,Volume\n2026-03-02,1,2,1,2,100\n2026-03-03,1,x,1,2,100\n",
                               "KLVN", "KLVN.csv");
  ASSERT_TRUE(out);
  EXPECT_EQ(out->bars.size(), 1U);
  EXPECT_EQ(out->skipped, 1);
  EXPECT_EQ(out->first_problem,
            "KLVN.csv:3:14: high: found \"x\", expected a price above zero such as 48.35; the row was left out");
}

TEST(Daily, takes_any_order_of_columns_and_rows_and_mends_what_cannot_be) {
  const auto out = parse_daily(
      "volume,close,low,high,open,datetime\r\n5,10,9,9.5,9.2,2026-03-03 00:00\r\n4,8,7,9,8,2026-03-02 00:00\r\n", "KLVN",
      "f");
  ASSERT_TRUE(out) << out.error().text;
  EXPECT_EQ(out->bars[0].day, Date::of(2026, 3, 2));
  EXPECT_EQ(out->bars[1].high, Price{10'000'000}) << "the high holds the close";
  EXPECT_EQ(out->mended, 1);
}

TEST(Daily, takes_the_noise_of_floats_off_and_leaves_real_fractions) {
  const auto out =
      parse_daily("date,open,high,low,close,volume\n2026-03-02,682.119995,682.119995,682.1134,682.1134,1\n", "KLVN", "f");
  EXPECT_EQ(out->bars[0].open, Price{682'120'000});
  EXPECT_EQ(out->bars[0].low, Price{682'113'400});
}

}  // namespace
}  // namespace brimwatch
