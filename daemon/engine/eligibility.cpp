#include "engine/eligibility.h"

#include <string_view>

namespace brimwatch {
namespace {

constexpr std::uint16_t kVolumeOnly = kNoLast | kNoHighLow;
constexpr std::uint16_t kNothing = kVolumeOnly | kNoVolume;

constexpr void set(ConditionTable& table, std::string_view codes, std::uint16_t bits) {
  for (const char code : codes) table[static_cast<unsigned char>(code)] = bits;
}

constexpr ConditionTable with_unknown() {
  ConditionTable table{};
  for (auto& bits : table) bits = kVolumeOnly | kUnknownCode;
  table[0] = 0;
  return table;
}

/// Tapes A and B. N and 8 are reserved there, and their volume is not settled: they count as volume only.
constexpr ConditionTable make_cts() {
  ConditionTable table = with_unknown();
  set(table, " EFKOX5", 0);
  set(table, "BCHINRTUV78", kVolumeOnly);
  set(table, "PZ4", kLastIfFirst);
  set(table, "L", kLastIfSameMarket);
  set(table, "6", kClosingPrint);
  set(table, "9", kNoVolume);
  set(table, "MQ", kNothing);
  set(table, "@", kOtherTape);
  return table;
}

/// Tape C. E, N and 8 are placeholders with nothing settled: they count as volume only.
constexpr ConditionTable make_utdf() {
  ConditionTable table = with_unknown();
  set(table, " @ABDFKOSXY15", 0);
  set(table, "CEHINRTUVW78", kVolumeOnly);
  set(table, "GPZ4", kLastIfFirst);
  set(table, "L", kLastUntilLate);
  set(table, "6", kClosingPrint);
  set(table, "9", kNoVolume);
  set(table, "MQ", kNothing);
  return table;
}

constexpr ConditionTable kCts = make_cts();
constexpr ConditionTable kUtdf = make_utdf();

}  // namespace

const ConditionTable& condition_table(Tape tape) { return tape == Tape::cts ? kCts : kUtdf; }

}  // namespace brimwatch
