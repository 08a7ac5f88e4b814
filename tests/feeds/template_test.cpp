#include "adapters/feeds/template.h"

#include <gtest/gtest.h>

#include <vector>

namespace brimwatch {
namespace {

const std::vector<std::string> kSymbols{"KLVN", "OR.B"};

TEST(Template, FillsItsPlacesAndLeavesOtherBracesAlone) {
  const TemplateValues values{"s3cret", kSymbols};
  EXPECT_EQ(
      fill_template(R"({"a":{"k":"{secret}"},"s":{symbols_json},"t":"{symbols}","x":"{other}"})", values, Escape::json),
      R"({"a":{"k":"s3cret"},"s":["KLVN","OR.B"],"t":"KLVN,OR.B","x":"{other}"})");
  EXPECT_EQ(fill_template("{", values, Escape::none), "{");
  EXPECT_EQ(fill_template("", values, Escape::none), "");
}

TEST(Template, ASecretCannotBreakOutOfItsPlace) {
  const TemplateValues values{"a\"b\\c&d e", {}};
  EXPECT_EQ(fill_template(R"({"k":"{secret}"})", values, Escape::json), R"({"k":"a\"b\\c&d e"})");
  EXPECT_EQ(fill_template("https://h/?k={secret}", values, Escape::url), "https://h/?k=a%22b%5Cc%26d%20e");
  // Nor is what it holds taken for a place.
  EXPECT_EQ(fill_template("{secret}", {"{symbols}", kSymbols}, Escape::none), "{symbols}");
}

std::string symbols_in(const SymbolForms& forms, std::string_view text, Escape escape) {
  return fill_template(text, {"", kSymbols, &forms}, escape);
}

TEST(Template, WritesSymbolsAsTheSourceDoes) {
  EXPECT_EQ(symbols_in({{"us:{symbol}.X"}, {}}, "{symbols}", Escape::none), "us:KLVN.X,us:OR.B.X");
  EXPECT_EQ(symbols_in({{"us:{symbol}"}, {}}, "{symbols}", Escape::url), "us%3AKLVN,us%3AOR.B");
  EXPECT_EQ(symbols_in({{"T.{symbol}", "Q.{symbol}"}, {}}, "{symbols}", Escape::json), "T.KLVN,Q.KLVN,T.OR.B,Q.OR.B");
  EXPECT_EQ(symbols_in({{"T.{symbol}", "Q.{symbol}"}, {{"OR.B", "OR/B"}}}, "{symbols_json}", Escape::json),
            R"(["T.KLVN","Q.KLVN","OR/B"])");
}

TEST(Template, AReplyHoldsWhatTheSourceWantsBack) {
  EXPECT_EQ(fill_template(R"({"pong":{value}})", {"", {}, nullptr, "17"}, Escape::json), R"({"pong":17})");
}

TEST(Template, ATextForOneSymbolIsForOneAlone) {
  EXPECT_EQ(batch_for(R"({"do":"watch","symbol":"{symbol}"})", 100), 1U);
  EXPECT_EQ(batch_for(R"({"do":"watch","symbols":{symbols_json}})", 100), 100U);
  EXPECT_EQ(batch_for("{symbols}", 0), 1U);
}

TEST(Template, WhatLooksLikeAPlaceAndIsNoneIsFound) {
  EXPECT_EQ(unknown_places(R"({"a":{symbol_list},"b":"{secret}","c":{"d":{key}}})"),
            (std::vector<std::string>{"{symbol_list}", "{key}"}));
  EXPECT_TRUE(unknown_places(R"({"a":{},"b":[{"c":1}]})").empty());
}

}  // namespace
}  // namespace brimwatch
