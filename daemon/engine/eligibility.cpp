#include "engine/eligibility.h"

#include <toml++/toml.h>

#include <cstdio>
#include <cstdlib>
#include <string_view>

#include "config/embedded.h"

namespace brimwatch {
namespace {

constexpr std::uint16_t kVolumeOnly = kNoLast | kNoHighLow;

/// The tables are part of the program: one that does not fit is a fault of the build, found by the first test that runs.
[[noreturn]] void broken(std::string_view file, std::string_view what) {
  std::fprintf(stderr, "%.*s: %.*s\n", static_cast<int>(file.size()), file.data(), static_cast<int>(what.size()),
               what.data());
  std::abort();
}

std::uint16_t last_bits(std::string_view word, std::string_view file) {
  if (word == "yes") return 0;
  if (word == "no" || word == "unsettled") return kNoLast;
  if (word == "first") return kLastIfFirst;
  if (word == "same-market") return kLastIfSameMarket;
  if (word == "until-late") return kLastUntilLate;
  broken(file, word);
}

std::uint16_t row_bits(const toml::table& row, std::string_view file) {
  std::uint16_t bits = last_bits(row["last"].value_or(std::string_view{}), file);
  if (row["high_low"].value_or(std::string_view{}) != "yes") bits |= kNoHighLow;
  if (row["volume"].value_or(std::string_view{}) == "no") bits |= kNoVolume;
  return bits;
}

ConditionTable read_table(std::string_view file) {
  ConditionTable table{};
  for (auto& bits : table) bits = kVolumeOnly | kUnknownCode;
  table[0] = table[' '] = 0;
  for (const EmbeddedFile& embedded : embedded_conditions()) {
    if (embedded.name != file) continue;
    const toml::table data = toml::parse(embedded.text);
    const toml::array* rows = data["condition"].as_array();
    if (rows == nullptr) broken(file, "no conditions");
    for (const toml::node& node : *rows) {
      const toml::table& row = *node.as_table();
      const std::string_view code = row["code"].value_or(std::string_view{});
      if (code.size() != 1) broken(file, "a code is one character");
      table[static_cast<unsigned char>(code[0])] = row_bits(row, file);
    }
    table['6'] |= kClosingPrint;
    for (const unsigned char code : {'O', '5', '6'}) table[code] |= kAuctionPrint;
    table['O'] |= kOpeningPrint;
    table['I'] |= kOddLot;
    return table;
  }
  broken(file, "missing");
}

ConditionTable read_cts() {
  ConditionTable table = read_table("cts.toml");
  table['@'] = kOtherTape;
  return table;
}

}  // namespace

const ConditionTable& condition_table(Tape tape) {
  static const ConditionTable kCts = read_cts();
  static const ConditionTable kUtdf = read_table("utdf.toml");
  return tape == Tape::cts ? kCts : kUtdf;
}

}  // namespace brimwatch
