#include "tape/columns.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, kColumns> kNames{"time", "symbol",   "price",    "size",       "conditions",
                                                        "kind", "exchange", "id",       "day_volume", "bid",
                                                        "ask",  "bid_size", "ask_size", "status",     "received"};
constexpr std::size_t kRequired = 5;
constexpr std::size_t kMostFields = 256;

std::string names_shown(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) {
    if (text.size() > 120) return text + ",...";
    text += (text.empty() ? "" : ",") + name.substr(0, 40);
  }
  return text;
}

}  // namespace

std::string_view to_string(Column column) { return kNames[static_cast<std::size_t>(column)]; }

Result<Layout> read_header(const std::vector<std::string>& names, std::string_view where) {
  const std::string start = std::string(where) + ":1:1: ";
  if (names.size() > kMostFields)
    return fail(start + "found " + std::to_string(names.size()) + " columns, expected at most 256");
  Layout layout;
  layout.fields = names.size();
  layout.of.resize(names.size());
  for (std::size_t i = 0; i < names.size(); ++i) {
    const auto found = std::find(kNames.begin(), kNames.end(), names[i]);
    if (found == kNames.end()) {
      layout.ignored.push_back(names[i]);
      continue;
    }
    const auto column = static_cast<std::size_t>(found - kNames.begin());
    if (layout.at[column] >= 0)
      return fail(start + "the column \"" + names[i] + "\" appears twice; the tape was not read");
    layout.at[column] = static_cast<int>(i);
    layout.of[i] = static_cast<Column>(column);
  }
  for (std::size_t column = 0; column < kRequired; ++column) {
    if (layout.at[column] >= 0) continue;
    return fail(start + "no column \"" + std::string(kNames[column]) + "\": found the header \"" + names_shown(names) +
                "\", expected time,symbol,price,size,conditions in any order; the tape was not read");
  }
  return layout;
}

}  // namespace brimwatch
