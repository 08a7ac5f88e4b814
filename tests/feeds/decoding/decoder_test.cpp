#include "adapters/feeds/decoding/decoder.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using testing::HasSubstr;
using testing::SizeIs;

constexpr Timestamp kNow{1'764'086'400'000'000'000};  // 2025-11-25T16:00:00Z

FeedSettings plain_settings() {
  FeedSettings settings;
  settings.fields.symbol = "/symbol";
  settings.fields.price = "/price";
  settings.fields.size = "/size";
  settings.fields.time = "/time";
  return settings;
}

/// A decoder, its symbols, and what came of the frames so far.
struct Bench {
  explicit Bench(const FeedSettings& settings) : decoder(Decoder::make(settings, symbols).value()) {}

  const std::vector<Tick>& decode(std::string_view frame) {
    out.clear();
    decoder.decode(frame, kNow, out);
    return out.ticks;
  }

  SymbolTable symbols;
  Decoder decoder;
  Decoded out;
};

TEST(Decoder, ReadsAPlainTrade) {
  Bench bench(plain_settings());
  const auto& ticks = bench.decode(R"({"symbol":"KLVN","price":48.41,"size":300,"time":"2025-11-25T10:42:07.25-05:00"})");
  ASSERT_THAT(ticks, SizeIs(1));
  EXPECT_EQ(bench.symbols.name(ticks[0].symbol), "KLVN");
  EXPECT_EQ(ticks[0].kind, TickKind::trade);
  EXPECT_EQ(ticks[0].price.micros, 48'410'000);
  EXPECT_EQ(ticks[0].size, Shares::whole(300));
  EXPECT_EQ(ticks[0].time, parse_rfc3339("2025-11-25T15:42:07.25Z"));
  EXPECT_EQ(ticks[0].received, kNow);
}

TEST(Decoder, NumbersGivenAsTextOrAsNumbersAreTheSame) {
  Bench bench(plain_settings());
  // 0.1 + 0.2 style trouble: each of these differs from its nearest double in the way that matters at a pivot.
  for (const char* price : {"48.35", "0.3", "4.35", "1.005", "100000000.000001"}) {
    const std::string rest = R"(,"size":1,"time":"2025-11-25T15:00:00Z"})";
    const auto number = bench.decode(std::string(R"({"symbol":"A","price":)") + price + rest);
    const auto text = bench.decode(std::string(R"({"symbol":"A","price":")") + price + "\"" + rest);
    ASSERT_THAT(number, SizeIs(1));
    ASSERT_THAT(text, SizeIs(1));
    EXPECT_EQ(number[0].price, parse_price(price));
    EXPECT_EQ(text[0].price, parse_price(price));
  }
}

// RFC 6901, section 5: the document and the pointers of the standard, each used as the place of the symbol. Values that
// are numbers serve as symbols here: the raw text of a number is a name like any other.
TEST(Decoder, WalksThePointersOfRfc6901) {
  const std::string document =
      R"({"foo":["bar","baz"],"":0,"a/b":1,"c%d":2,"e^f":3,"g|h":4,"i\\j":5,"k\"l":6," ":7,"m~n":8})";
  const std::pair<const char*, const char*> vectors[] = {{"/foo/0", "bar"}, {"/", "0"},    {"/a~1b", "1"}, {"/c%d", "2"},
                                                         {"/e^f", "3"},     {"/g|h", "4"}, {"/i\\j", "5"}, {"/k\"l", "6"},
                                                         {"/ ", "7"},       {"/m~0n", "8"}};
  for (const auto& [pointer, wanted] : vectors) {
    FeedSettings settings;
    settings.fields.symbol = pointer;
    settings.default_kind = "day";
    settings.fields.day_volume = "/c%d";
    Bench bench(settings);
    const auto& ticks = bench.decode(document);
    ASSERT_THAT(ticks, SizeIs(1)) << pointer << bench.decoder.last_problem();
    EXPECT_EQ(bench.symbols.name(ticks[0].symbol), wanted) << pointer;
  }
  for (const char* nowhere : {"/foo/2", "/foo/-", "/foo/00", "/bar", "/foo/0/x"}) {
    FeedSettings settings;
    settings.fields.symbol = nowhere;
    Bench bench(settings);
    EXPECT_THAT(bench.decode(document), SizeIs(0)) << nowhere;
    EXPECT_EQ(bench.decoder.counts().malformed, 1U);
  }
}

TEST(Decoder, TakesArraysOfMessagesAndMessagesDeepInAFrame) {
  auto settings = plain_settings();
  settings.fields.time = "";
  Bench array(settings);
  EXPECT_THAT(array.decode(R"([{"symbol":"A","price":1,"size":1},{"symbol":"B","price":2,"size":1}])"), SizeIs(2));

  settings.fields.messages = "/data/items";
  settings.fields.symbol = "frame:/who";
  Bench deep(settings);
  const auto& ticks = deep.decode(R"({"data":{"items":[{"price":1,"size":1},{"price":2,"size":1}]},"who":"KLVN"})");
  ASSERT_THAT(ticks, SizeIs(2));
  EXPECT_EQ(deep.symbols.name(ticks[1].symbol), "KLVN");
}

TEST(Decoder, TakesOneMemberASymbol) {
  FeedSettings settings;
  settings.default_kind = "day";
  settings.fields.messages = "/quotes";
  settings.fields.symbol = "key";
  settings.fields.price = "/last";
  settings.fields.day_volume = "/volume";
  Bench bench(settings);
  const auto& ticks =
      bench.decode(R"({"quotes":{"KLVN":{"last":"48.41","volume":612000},"ORRI":{"last":7,"volume":"5"}}})");
  ASSERT_THAT(ticks, SizeIs(2));
  EXPECT_EQ(bench.symbols.name(ticks[1].symbol), "ORRI");
  EXPECT_EQ(ticks[0].day_volume, Shares::whole(612000));
  EXPECT_EQ(ticks[0].kind, TickKind::day);
}

TEST(Decoder, TakesMessagesWithFieldsByPosition) {
  FeedSettings settings;
  settings.fields.symbol = "/1";
  settings.fields.price = "/2";
  settings.fields.size = "/3";
  settings.rules = {{"/0", "t", "trade"}, {"/0", "*", "ignore"}};
  Bench bench(settings);
  EXPECT_THAT(bench.decode(R"(["t","KLVN","48.41",100])"), SizeIs(1));
  EXPECT_THAT(bench.decode(R"([["t","KLVN","48.41",100],["t","KLVN","48.42",100]])"), SizeIs(2));
  EXPECT_THAT(bench.decode(R"(["h",17])"), SizeIs(0));
  EXPECT_EQ(bench.decoder.counts().ignored, 1U);
}

TEST(Decoder, RulesTellMessagesApartAndKindsMayHaveFieldsOfTheirOwn) {
  auto settings = plain_settings();
  settings.fields.id = "/id";
  settings.fields.bid = "/b";
  settings.fields.ask = "/a";
  settings.fields.status = "/state";
  settings.status_words = {{"H", "halted"}};
  settings.rules = {{"/T", "t", "trade"},  {"/T", "q", "quote"},        {"/T", "c", "correct"},    {"/T", "x", "cancel"},
                    {"/T", "s", "status"}, {"/ok", "true", "accepted"}, {"/error", "*", "refused"}};
  settings.default_kind = "";
  settings.fields_of["correct"].price = "/new/p";
  settings.fields_of["correct"].size = "/new/s";
  settings.fields_of["correct"].old_price = "/old/p";
  settings.fields_of["correct"].old_size = "/old/s";
  Bench bench(settings);
  const std::string when = R"("symbol":"KLVN","time":"2025-11-25T15:00:00Z")";
  EXPECT_EQ(bench.decode(R"({"T":"q","b":1,"a":"1.01",)" + when + "}")[0].ask.micros, 1'010'000);
  EXPECT_EQ(bench.decode(R"({"T":"s","state":"H",)" + when + "}")[0].status, TradingStatus::halted);
  EXPECT_EQ(bench.decode(R"({"T":"x","id":"T-9",)" + when + "}")[0].id, trade_id_of("T-9"));
  const auto corrected = bench.decode(R"({"T":"c","id":77,"new":{"p":2,"s":3},"old":{"p":4,"s":5},)" + when + "}");
  ASSERT_THAT(corrected, SizeIs(1));
  EXPECT_EQ(corrected[0].id, 77U);
  EXPECT_EQ(corrected[0].price.micros, 2'000'000);
  EXPECT_EQ(corrected[0].bid.micros, 4'000'000);
  EXPECT_EQ(corrected[0].bid_size, Shares::whole(5));

  EXPECT_THAT(bench.decode(R"({"ok":true})"), SizeIs(0));
  ASSERT_THAT(bench.out.answers, SizeIs(1));
  EXPECT_TRUE(bench.out.answers[0].accepted);
  bench.decode(R"({"error":"no such key"})");
  ASSERT_THAT(bench.out.answers, SizeIs(1));
  EXPECT_FALSE(bench.out.answers[0].accepted);
  EXPECT_THAT(bench.out.answers[0].text, HasSubstr("no such key"));
  bench.decode(R"({"T":"zz"})");
  EXPECT_EQ(bench.decoder.counts().unknown, 1U);
}

/// What a source with such settings makes of one trade's conditions.
std::string codes(const FeedSettings& settings, const std::string& json) {
  Bench bench(settings);
  const auto& ticks = bench.decode(R"({"symbol":"A","price":1,"size":1,"c":)" + json + "}");
  return ticks.empty() ? std::string("none") : std::string(ticks[0].conditions.view());
}

FeedSettings with_conditions(const std::string& tape) {
  auto settings = plain_settings();
  settings.fields.time = "";
  settings.fields.conditions = "/c";
  settings.conditions = tape;
  return settings;
}

TEST(Decoder, SaleConditionsOfTheTapeComeAsLettersOrLists) {
  auto settings = with_conditions("cts");
  EXPECT_EQ(codes(settings, R"("@F I")"), "@FI");
  EXPECT_EQ(codes(settings, R"(["@","I"])"), "@I");
  EXPECT_EQ(codes(settings, R"("F,I")"), "FI");
  EXPECT_EQ(codes(settings, "null"), "");
  EXPECT_EQ(codes(settings, "[]"), "");
  EXPECT_EQ(codes(settings, "[4]"), "4");
  EXPECT_EQ(codes(settings, R"(["oddlot"])"), "?");          // not known: never taken for a regular sale
  EXPECT_EQ(codes(settings, R"("123456789")"), "1234567?");  // more than fit
  settings.condition_words = {{"37", "I"}, {"odd lot", "I"}, {"12", ""}};
  EXPECT_EQ(codes(settings, "[37, 12]"), "I");
  EXPECT_EQ(codes(settings, R"("odd lot")"), "I");
  EXPECT_EQ(codes(settings, "[38]"), "?");
}

TEST(Decoder, CodesOfASourceOfItsOwnAreNeverReadAsTheTapes) {
  auto settings = with_conditions("none");
  EXPECT_EQ(codes(settings, "9"), "?") << "on the tape it is a corrected close, which adds no volume";
  EXPECT_EQ(codes(settings, R"("I")"), "?");
  EXPECT_EQ(codes(settings, R"(["@"])"), "?");
  settings.condition_words = {{"9", "@"}, {"o", "I"}, {"late", "Z"}};
  EXPECT_EQ(codes(settings, "9"), "@");
  EXPECT_EQ(codes(settings, R"("late o")"), "ZI");
  EXPECT_EQ(codes(settings, R"("late,x")"), "Z?");
  EXPECT_EQ(codes(settings, R"("9o")"), "@I") << "letters without a space between, each of them a word";
}

TEST(Decoder, CountsConditionsThatNobodyMappedByCode) {
  Bench bench(with_conditions("none"));
  const auto trade = [](const char* c) { return std::string(R"({"symbol":"A","price":1,"size":1,"c":)") + c + "}"; };
  for (const char* c : {R"(["37","odd"])", R"(["37"])", "[]"}) bench.decode(trade(c));
  const UnknownCodes& unknown = bench.decoder.unknown_codes();
  ASSERT_THAT(unknown.rows(), SizeIs(2));
  EXPECT_EQ(unknown.rows()[0].code, "37");
  EXPECT_EQ(unknown.rows()[0].count, 2U);
  EXPECT_EQ(unknown.trades_with(), 2U);
  EXPECT_EQ(
      unknown.advice(),
      "2 of 3 trades have a sale condition that is not mapped (\"37\", \"odd\"): they add volume and move no price. "
      "Say which code of the tape each one is, \"@\" for a regular sale: condition_words = { \"37\" = \"@\" }");
  for (int i = 0; i < 100; ++i) bench.decode(trade(("[" + std::to_string(1000 + i) + "]").c_str()));
  EXPECT_THAT(unknown.rows(), SizeIs(32)) << "bounded";
  EXPECT_EQ(unknown.others(), 70U);
}

TEST(Decoder, ASnapshotHasTheConditionsOfItsLastTrade) {
  auto settings = with_conditions("cts");
  settings.default_kind = "day";
  settings.fields.day_volume = "/v";
  settings.fields.id = "/i";
  Bench bench(settings);
  const auto& ticks = bench.decode(R"({"symbol":"A","price":48.5,"size":3,"v":900,"c":"@I","i":7})");
  ASSERT_THAT(ticks, SizeIs(1));
  EXPECT_EQ(ticks[0].conditions.view(), "@I");
  EXPECT_EQ(ticks[0].size, Shares::whole(3));
  EXPECT_EQ(ticks[0].id, 7U);
}

TEST(Decoder, AnOddLotIsToldByAFlagOrBySize) {
  auto flag = plain_settings();
  flag.fields.time = "";
  flag.fields.odd_lot = "/odd";
  const auto said = [](const FeedSettings& settings, const std::string& rest) {
    Bench bench(settings);
    return std::string(bench.decode(R"({"symbol":"A","price":1,)" + rest + "}").at(0).conditions.view());
  };
  for (const char* yes : {"true", "1", R"("Y")", R"("true")", R"("T")", R"("Yes")", R"("TRUE")", R"(" 1 ")", R"("on")"}) {
    EXPECT_EQ(said(flag, std::string(R"("size":500,"odd":)") + yes), "I") << yes;
  }
  for (const char* no : {"false", "0", "null", R"("N")", R"("F")", R"("No")", R"("FALSE")", R"("")", R"("perhaps")"}) {
    EXPECT_EQ(said(flag, std::string(R"("size":5,"odd":)") + no), "") << no;
  }
  auto size = plain_settings();
  size.fields.time = "";
  size.odd_lot_below = 100;
  EXPECT_EQ(said(size, R"("size":99.5)"), "I");
  EXPECT_EQ(said(size, R"("size":100)"), "");
}

TEST(Decoder, AFlagThatIsNeitherYesNorNoIsTold) {
  auto settings = plain_settings();
  settings.fields.time = "";
  settings.fields.odd_lot = "/odd";
  Bench bench(settings);
  for (const char* flag : {"\"R\"", "\"Y\"", "[1]", "\"O\""})
    bench.decode(std::string(R"({"symbol":"A","price":1,"size":5,"odd":)") + flag + "}");
  EXPECT_EQ(bench.decoder.unknown_codes().flags(), 3U);
  EXPECT_EQ(
      bench.decoder.unknown_codes().flag_advice(),
      "3 trades have a flag for odd lots that is \"R\", expected yes or no (true, \"Y\", 1; false, \"N\", 0): they are "
      "taken for round lots. Does odd_lot name the right field?");
}

// A key that is accepted does what it says, for one kind as for all.
TEST(Decoder, AKindMayHaveATimeFormatAndAPlaceOfItsOwn) {
  auto settings = plain_settings();
  settings.fields.messages = "/trades";
  settings.fields.status = "/state";
  settings.fields_of["status"].messages = "/halts/list";
  settings.fields_of["status"].time_format = "ms";
  settings.fields_of["correct"].messages = "/amends";
  settings.fields_of["correct"].symbol = "key";
  settings.fields_of["correct"].old_price = "/was";
  settings.fields.id = "/id";
  Bench bench(settings);
  const auto& ticks = bench.decode(R"({"halts":{"list":[{"symbol":"KLVN","time":1764084060000,"state":"halted"}]},
    "trades":[{"symbol":"KLVN","price":1,"size":2,"time":"2025-11-25T15:00:00Z"}],
    "amends":{"KLVN":{"id":4,"price":1,"size":2,"was":1.5,"time":"2025-11-25T15:00:00Z"}}})");
  ASSERT_THAT(ticks, SizeIs(3)) << bench.decoder.last_problem();
  EXPECT_EQ(ticks[0].kind, TickKind::status);
  EXPECT_EQ(ticks[0].time.ns, 1764084060000 * 1'000'000);
  EXPECT_EQ(ticks[1].kind, TickKind::trade);
  EXPECT_EQ(ticks[2].kind, TickKind::correct);
  EXPECT_EQ(ticks[2].bid.micros, 1'500'000);

  settings.fields.messages = "";  // a frame is a trade itself, unless it holds others
  Bench itself(settings);
  EXPECT_THAT(itself.decode(R"({"amends":{"KLVN":{"id":4,"price":1,"size":2,"was":2,"time":"2025-11-25T15:00:00Z"}}})"),
              SizeIs(1));
  EXPECT_EQ(itself.decode(R"({"symbol":"KLVN","price":1,"size":2,"time":"2025-11-25T15:00:00Z"})")[0].kind,
            TickKind::trade);
  EXPECT_EQ(itself.decoder.counts().malformed, 0U);
}

TEST(Decoder, AListStandsWhereAnotherKindHasAFieldInside) {
  auto settings = with_conditions("cts");
  settings.fields_of["quote"].ask = "/c/0";
  settings.fields_of["quote"].ask_size = "/c/1/0";
  settings.rules = {{"/q", "*", "quote"}};
  EXPECT_EQ(codes(settings, R"(["@","I"])"), "@I");
  Bench bench(settings);
  const auto& ticks = bench.decode(R"({"symbol":"A","q":1,"c":[1.25,[300]]})");
  ASSERT_THAT(ticks, SizeIs(1)) << bench.decoder.last_problem();
  EXPECT_EQ(ticks[0].ask.micros, 1'250'000);
  EXPECT_EQ(ticks[0].ask_size, Shares::whole(300));
}

TEST(Decoder, WhatIsLostIsNamed) {
  Bench bench(plain_settings());
  bench.decoder.want({"A", "B"});
  const std::string good = R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z"})";
  bench.decode("[" + good + R"(,{"symbol":"B","price":NaN,"size":1,"time":"2025-11-25T15:00:00Z"},)" + good + "]");
  ASSERT_THAT(bench.out.lost, SizeIs(1));
  EXPECT_EQ(bench.symbols.name(bench.out.lost[0].symbol), "B");
  EXPECT_EQ(bench.out.lost[0].before, 1U);
  bench.decode(R"({"symbol":"A","symbol":"B","price":1,"size":1})");
  ASSERT_THAT(bench.out.lost, SizeIs(1));
  EXPECT_EQ(bench.out.lost[0].symbol, kNoSymbol) << "nobody knows whose it was";
  bench.decode(good.substr(0, 30));
  EXPECT_THAT(bench.out.lost, SizeIs(1)) << "a frame cut off";
  for (const char* nothing : {"17", "\"beat\"", R"({"beat":1})", R"({"symbol":"C","price":NaN})"}) {
    bench.decode(nothing);
    EXPECT_THAT(bench.out.lost, SizeIs(0)) << nothing;
  }
}

TEST(Decoder, AValueThatNobodyAsksForCostsNothing) {
  Bench bench(plain_settings());
  EXPECT_THAT(
      bench.decode(
          R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z","ratio":NaN,"x":1,"x":2,"y":[Infinity]})"),
      SizeIs(1))
      << bench.decoder.last_problem();
}

TEST(Decoder, ReadsBarsAndExchangesAndSymbolForms) {
  auto settings = plain_settings();
  settings.symbol_form = "us:{symbol}.X";
  settings.fields.exchange = "/x";
  settings.fields.low = "/l";
  settings.fields.high = "/h";
  settings.exchange_words = {{"11", "P"}};
  settings.default_kind = "bar";
  settings.fields.time_format = "ms";
  Bench bench(settings);
  const auto& ticks =
      bench.decode(R"({"symbol":"us:KLVN.X","price":5,"l":4.5,"h":5.5,"size":900,"x":11,"time":1764084060000})");
  ASSERT_THAT(ticks, SizeIs(1)) << bench.decoder.last_problem();
  EXPECT_EQ(bench.symbols.name(ticks[0].symbol), "KLVN");
  EXPECT_EQ(ticks[0].exchange, 'P');
  EXPECT_EQ(ticks[0].bid.micros, 4'500'000);
  EXPECT_EQ(ticks[0].ask.micros, 5'500'000);
  EXPECT_THAT(bench.decode(R"({"symbol":"KLVN","price":5,"l":4,"h":6,"size":1,"time":1764084060000})"), SizeIs(0));
}

TEST(Decoder, TakesOnlyWhatIsWatched) {
  Bench bench(plain_settings());
  bench.decoder.want({"KLVN"});
  const std::string rest = R"(,"price":1,"size":1,"time":"2025-11-25T15:00:00Z"})";
  EXPECT_THAT(bench.decode(R"({"symbol":"KLVN")" + rest), SizeIs(1));
  EXPECT_THAT(bench.decode(R"({"symbol":"ORRI")" + rest), SizeIs(0));
  EXPECT_EQ(bench.decoder.counts().unwatched, 1U);
  bench.decoder.want({"ORRI"});
  EXPECT_THAT(bench.decode(R"({"symbol":"ORRI")" + rest), SizeIs(1));
  EXPECT_THAT(bench.decode(R"({"symbol":"KLVN")" + rest), SizeIs(0));
}

struct BadFrame {
  const char* name;
  const char* frame;
};
void PrintTo(const BadFrame& one, std::ostream* out) { *out << one.name; }

class BrokenFrames : public testing::TestWithParam<BadFrame> {};

TEST_P(BrokenFrames, GiveNothingAndAreCounted) {
  Bench bench(plain_settings());
  EXPECT_THAT(bench.decode(GetParam().frame), SizeIs(0));
  EXPECT_EQ(bench.decoder.counts().frames_broken, 1U) << bench.decoder.last_problem();
  EXPECT_THAT(bench.decoder.last_problem(), HasSubstr("not used"));
  const auto& good = bench.decode(R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z"})");
  EXPECT_THAT(good, SizeIs(1)) << "a broken frame must not spoil the next one";
}

const BadFrame kBroken[] = {
    {"cut_off", R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z")"},
    {"more_behind", R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z"} x)"},
    {"value_cut_off", R"({"symbol":"A","size":1,"time":"2025-11-25T15:00:00Z","price":)"},
    {"list_cut_off", R"({"symbol":"A","size":1,"time":"2025-11-25T15:00:00Z","price":[1,)"},
    {"value_missing", R"({"symbol":"A","size":1,"time":"2025-11-25T15:00:00Z","price":})"},
    {"two_documents", R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z"}{"symbol":"B"})"},
    {"scalar", "17"},
    {"text", R"("hello")"},
    {"garbage", "\x01\x02garbage"},
    {"not_utf8", "{\"symbol\":\"\xff\xfe\",\"price\":1}"},
    {"lone_bracket", "["},
    {"half_good_array", R"([{"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z"},{"symbol":"A")"},
};
INSTANTIATE_TEST_SUITE_P(All, BrokenFrames, testing::ValuesIn(kBroken), [](const auto& one) { return one.param.name; });

/// A person who reads it knows what was found, and what to change in the mapping.
TEST(Decoder, WhatCannotBeReadIsNamedAsItStands) {
  FeedSettings settings = plain_settings();
  settings.fields.kind = "/kind";
  settings.fields.status = "/status";
  Bench bench(settings);
  const auto told = [&bench](const char* message) {
    bench.decode(message);
    return bench.decoder.last_problem();
  };
  EXPECT_THAT(told(R"({"symbol":"A","price":"n/a","size":1,"time":"2025-11-25T15:00:00Z"})"),
              HasSubstr("price: found \"n/a\", not readable; message not used: {"));
  EXPECT_THAT(
      told(R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25 10:42:07"})"),
      HasSubstr("time: found \"2025-11-25 10:42:07\", not readable, expected a time as time_format says, its zone in "
                "it or by time_zone; message not used: {"));
  EXPECT_THAT(told(R"({"symbol":"A","size":1,"time":"2025-11-25T15:00:00Z"})"),
              HasSubstr("price missing or not readable; message not used: {"));
  EXPECT_THAT(
      told(R"({"symbol":"A","kind":"status","status":"H","time":"2025-11-25T15:00:00Z"})"),
      HasSubstr("status: found \"H\", not readable, expected halted, trading or a word of status_words; message"));
}

class MalformedMessages : public testing::TestWithParam<BadFrame> {};

TEST_P(MalformedMessages, CostOnlyThemselves) {
  Bench bench(plain_settings());
  const std::string good = R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z"})";
  EXPECT_THAT(bench.decode("[" + good + "," + GetParam().frame + "," + good + "]"), SizeIs(2));
  EXPECT_EQ(bench.decoder.counts().malformed, 1U) << bench.decoder.last_problem();
}

const BadFrame kMalformed[] = {
    {"price_zero", R"({"symbol":"A","price":0,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"price_negative", R"({"symbol":"A","price":-5,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"price_nan_text", R"({"symbol":"A","price":"NaN","size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"price_comma", R"({"symbol":"A","price":"48,35","size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"price_huge", R"({"symbol":"A","price":1e300,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"price_object", R"({"symbol":"A","price":{},"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"price_true", R"({"symbol":"A","price":true,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"size_missing", R"({"symbol":"A","price":1,"time":"2025-11-25T15:00:00Z"})"},
    {"size_negative", R"({"symbol":"A","price":1,"size":-1,"time":"2025-11-25T15:00:00Z"})"},
    {"symbol_missing", R"({"price":1,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"symbol_endless",
     R"({"symbol":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA","price":1,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"time_missing", R"({"symbol":"A","price":1,"size":1})"},
    {"name_twice", R"({"symbol":"A","price":1,"price":2,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"number_with_leading_zero", R"({"symbol":"A","price":048.35,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"number_plus", R"({"symbol":"A","price":+1,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"nan", R"({"symbol":"A","price":NaN,"size":1,"time":"2025-11-25T15:00:00Z"})"},
    {"time_without_zone", R"({"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00"})"},
};
INSTANTIATE_TEST_SUITE_P(All, MalformedMessages, testing::ValuesIn(kMalformed),
                         [](const auto& one) { return one.param.name; });

TEST(Decoder, AFrameBeyondTheBoundIsRefusedUnread) {
  auto settings = plain_settings();
  settings.frame_bytes_most = 50;
  Bench bench(settings);
  EXPECT_THAT(bench.decode(std::string(51, ' ') + "{}"), SizeIs(0));
  EXPECT_EQ(bench.decoder.counts().frames_broken, 1U);
}

TEST(Decoder, BlankFramesAreNothing) {  // NDJSON 1.0.0: a parser may ignore empty lines if it says so
  Bench bench(plain_settings());
  for (const char* blank : {"", " ", "\r", "\t\r\n"}) bench.decode(blank);
  EXPECT_EQ(bench.decoder.counts().frames, 0U);
}

TEST(Decoder, AWrongMappingIsRefusedByItsKey) {
  SymbolTable symbols;
  const auto error = [&](auto change) {
    auto settings = plain_settings();
    settings.name = "north";
    change(settings);
    const auto made = Decoder::make(settings, symbols);
    return made ? std::string() : made.error().text;
  };
  EXPECT_THAT(error([](auto& s) { s.fields.price = "price"; }),
              HasSubstr("feed \"north\": fields.price: found \"price\""));
  EXPECT_THAT(error([](auto& s) { s.fields.symbol = ""; }), HasSubstr("fields.symbol"));
  EXPECT_THAT(error([](auto& s) { s.fields.time_format = "min"; }), HasSubstr("expected one of rfc3339, s, ms, us, ns"));
  EXPECT_THAT(error([](auto& s) { s.rules = {{"/T", "t", "print"}}; }), HasSubstr("rules[1].kind: found \"print\""));
  EXPECT_THAT(error([](auto& s) { s.status_words["H"] = "stopped"; }), HasSubstr("status_words.H"));
  EXPECT_THAT(error([](auto& s) { s.symbol_form = "x"; }), HasSubstr("{symbol}"));
  EXPECT_THAT(error([](auto& s) { s.default_kind = "tick"; }), HasSubstr("default_kind"));
  EXPECT_THAT(error([](auto& s) { s.fields_of["accepted"].price = "/p"; }), HasSubstr("fields_of.accepted"));
}

TEST(Decoder, ATopicTellsKindAndSymbolInOneText) {
  auto settings = plain_settings();
  settings.symbol_form = "*.{symbol}";
  settings.default_kind = "";
  settings.rules = {{"/symbol", "trade.*", "trade"}, {"/symbol", "*.beat", "ignore"}};
  Bench bench(settings);
  const auto& ticks = bench.decode(R"({"symbol":"trade.KLV.B","price":5,"size":1,"time":"2025-11-25T15:00:00Z"})");
  ASSERT_THAT(ticks, SizeIs(1)) << bench.decoder.last_problem();
  EXPECT_EQ(bench.symbols.name(ticks[0].symbol), "KLV.B");
  bench.decode(R"([{"symbol":"quote.KLVN"},{"symbol":"all.beat"},{"symbol":"trade."}])");
  EXPECT_EQ(bench.decoder.counts().unknown, 1U);
  EXPECT_EQ(bench.decoder.counts().ignored, 1U);
  EXPECT_EQ(bench.decoder.counts().malformed, 1U);
}

TEST(Decoder, WhatStandsBehindASymbolMayVaryToo) {
  auto settings = plain_settings();
  settings.symbol_form = "{symbol}@*";
  Bench bench(settings);
  const auto& ticks = bench.decode(R"({"symbol":"KLVN@trade","price":5,"size":1,"time":"2025-11-25T15:00:00Z"})");
  ASSERT_THAT(ticks, SizeIs(1)) << bench.decoder.last_problem();
  EXPECT_EQ(bench.symbols.name(ticks[0].symbol), "KLVN");
}

TEST(Decoder, AMemberMayHoldSeveralMessagesOfItsSymbol) {
  auto settings = plain_settings();
  settings.fields.symbol = "key";
  settings.fields.messages = "/trades";
  Bench bench(settings);
  const auto& ticks = bench.decode(
      R"({"trades":{"KLVN":[{"price":5,"size":1,"time":"2025-11-25T15:00:00Z"},{"price":6,"size":2,"time":"2025-11-25T15:00:01Z"}],"NIVO":[],"ORRJ":{"price":7,"size":3,"time":"2025-11-25T15:00:02Z"}}})");
  ASSERT_THAT(ticks, SizeIs(3)) << bench.decoder.last_problem();
  EXPECT_EQ(bench.symbols.name(ticks[1].symbol), "KLVN");
  EXPECT_EQ(bench.symbols.name(ticks[2].symbol), "ORRJ");
}

TEST(Decoder, ReadsLinesWithCommas) {
  auto settings = plain_settings();
  settings.encoding = "csv";
  settings.fields = {};
  settings.fields.symbol = "/0";
  settings.fields.time = "/1";
  settings.fields.price = "/2";
  settings.fields.size = "/3";
  Bench bench(settings);
  const auto& ticks = bench.decode("KLVN,2025-11-25T15:00:00Z,48.35,100\r\n\"NIVO\",2025-11-25T15:00:01Z,7.5,25\n");
  ASSERT_THAT(ticks, SizeIs(2)) << bench.decoder.last_problem();
  EXPECT_EQ(to_string(ticks[0].price), "48.35");
  EXPECT_EQ(bench.symbols.name(ticks[1].symbol), "NIVO");
}

TEST(Decoder, ReadsLinesOfTagsWithTheProtocolsOwnTime) {
  auto settings = plain_settings();
  settings.encoding = "tags";
  settings.fields = {};
  settings.fields.symbol = "/55";
  settings.fields.price = "/270";
  settings.fields.size = "/271";
  settings.fields.time = "/60";
  Bench bench(settings);
  const auto& ticks = bench.decode(
      "55=KLVN\x01"
      "270=48.35\x01"
      "271=100\x01"
      "60=20251125-15:00:00.250\x01");
  ASSERT_THAT(ticks, SizeIs(1)) << bench.decoder.last_problem();
  EXPECT_EQ(to_rfc3339(ticks[0].time), "2025-11-25T15:00:00.25Z");
  bench.decode("55=KLVN|hello");
  EXPECT_EQ(bench.decoder.counts().frames_broken, 1U);
}

TEST(Decoder, CountsEachMessageOnce) {
  auto settings = plain_settings();
  settings.rules = {{"/h", "*", "ignore"}};
  Bench bench(settings);
  bench.decoder.want({"A"});
  bench.decode(
      R"([{"h":1},{"symbol":"B"},{"symbol":"A"},{"symbol":"A","price":1,"size":1,"time":"2025-11-25T15:00:00Z"}])");
  const auto& counts = bench.decoder.counts();
  EXPECT_EQ(counts.messages, 4U);
  EXPECT_EQ(counts.ticks + counts.malformed + counts.unknown + counts.ignored + counts.unwatched, counts.messages);
}

}  // namespace
}  // namespace brimwatch
