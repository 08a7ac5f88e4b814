#include "config/symbol_meant.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

TEST(SymbolMeant, IsFoundInEitherCaseWhereOneAloneFits) {
  WatchList list;
  for (const char* symbol : {"KLVN", "VORQ.B", "NIVa", "NIVA"}) {
    Watch watch;
    watch.symbol = symbol;
    watch.pivot = Price{48'350'000};
    list.push_back(watch);
  }
  EXPECT_EQ(symbol_meant(list, "klvn"), "KLVN");
  EXPECT_EQ(symbol_meant(list, "Vorq.b"), "VORQ.B");
  EXPECT_EQ(symbol_meant(list, "NIVa"), "NIVa");
  EXPECT_EQ(symbol_meant(list, "niva"), "niva") << "two fit";
  EXPECT_EQ(symbol_meant(list, "KLV"), "KLV");
  EXPECT_EQ(symbol_meant(list, ""), "");
}

}  // namespace
}  // namespace brimwatch
