// Which part of a channel's name is the symbol is told by what is left over; and the form proposed reads just that.
#include "adapters/guessing/topics.h"

#include <gmock/gmock.h>

namespace brimwatch {
namespace {

using Texts = std::map<std::string, std::size_t>;

Texts texts_of(const std::vector<std::string>& forms) {
  Texts out;
  for (const std::string& form : forms) {
    for (const char* symbol : {"KLVN", "NIVO", "HALQ"}) {
      std::string text = form;
      out[text.replace(text.find('$'), 1, symbol)] = 5;
    }
  }
  return out;
}

/// The form that is proposed; "none": no such texts. The symbols found must be the three.
std::string form_for(const Texts& texts) {
  const auto form = find_topic_form(texts);
  if (!form) return "none";
  std::vector<TopicParts> all;
  for (const auto& [text, count] : texts) {
    all.push_back(form->parts(text).value_or(TopicParts{}));
    EXPECT_THAT(all.back().symbol, testing::AnyOf("KLVN", "NIVO", "HALQ")) << text;
    EXPECT_EQ(all.back().before + all.back().symbol + all.back().after, text);
  }
  return symbol_form_of(all).value_or("no form");
}

TEST(Topics, TheSymbolIsFoundAtAnyPlace) {
  EXPECT_EQ(form_for(texts_of({"trade.$", "touch.$"})), "*.{symbol}");
  EXPECT_EQ(form_for(texts_of({"book_top:$", "prints:$"})), "*:{symbol}");
  EXPECT_EQ(form_for(texts_of({"eq/v1/$/last", "eq/v1/$/top"})), "eq/v1/{symbol}/*");
  EXPECT_EQ(form_for(texts_of({"$@trade", "$@quote"})), "{symbol}@*");
  EXPECT_EQ(form_for(texts_of({"trade/$/raw", "quote/$/100ms"})), "*/{symbol}/*");
  EXPECT_EQ(form_for(texts_of({"eq.$.US"})), "eq.{symbol}.US");
}

TEST(Topics, WhatNoFormReadsHasNone) { EXPECT_EQ(form_for(texts_of({"$/print/v1", "$/touch/v1"})), "no form"); }

TEST(Topics, OtherTextsAreNone) {
  EXPECT_EQ(form_for({{"KLVN", 5}, {"NIVO", 5}, {"HALQ", 5}}), "none");
  EXPECT_EQ(form_for({{"net.sample.trade.made", 9}, {"net.sample.quote.made", 9}, {"net.sample.trade.busted", 2}}),
            "none");
  Texts numbers;
  for (int i = 100; i < 160; ++i) numbers["T-" + std::to_string(7 * i)] = 1;
  EXPECT_EQ(form_for(numbers), "none");
}

}  // namespace
}  // namespace brimwatch
