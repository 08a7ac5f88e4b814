#include "core/tick_sizes.h"

#include <algorithm>
#include <array>
#include <iterator>
#include <span>

namespace brimwatch {
namespace {

struct Step {
  Price from, tick;
};

constexpr Price units(std::int64_t whole) { return {whole * kMicrosPerUnit}; }
constexpr Price over(std::int64_t whole) { return {whole * kMicrosPerUnit + 1}; }

constexpr std::array kCents{Step{{}, {10'000}}};
constexpr std::array kNewYork{Step{{}, {100}}, Step{units(1), {10'000}}};
constexpr std::array kToronto{Step{{}, {5'000}}, Step{{500'000}, {10'000}}};

/// Tokyo's rows hold up to their price, and that price with it.
constexpr std::array kTokyo{
    Step{{}, units(1)},
    Step{over(3'000), units(5)},
    Step{over(5'000), units(10)},
    Step{over(30'000), units(50)},
    Step{over(50'000), units(100)},
    Step{over(300'000), units(500)},
    Step{over(500'000), units(1'000)},
    Step{over(3'000'000), units(5'000)},
    Step{over(5'000'000), units(10'000)},
    Step{over(30'000'000), units(50'000)},
    Step{over(50'000'000), units(100'000)},
};
constexpr std::array kTokyo500{
    Step{{}, {100'000}},
    Step{over(1'000), {500'000}},
    Step{over(3'000), units(1)},
    Step{over(10'000), units(5)},
    Step{over(30'000), units(10)},
    Step{over(100'000), units(50)},
    Step{over(300'000), units(100)},
    Step{over(1'000'000), units(500)},
    Step{over(3'000'000), units(1'000)},
    Step{over(10'000'000), units(5'000)},
    Step{over(30'000'000), units(10'000)},
};

/// The Annex reads along its diagonals: a band's step is that of the row so many places up. What is narrower than its
/// first step is as wide as that.
constexpr std::array<std::int64_t, 19> kLondonFrom{0,
                                                   100'000,
                                                   200'000,
                                                   500'000,
                                                   1'000'000,
                                                   2'000'000,
                                                   5'000'000,
                                                   10'000'000,
                                                   20'000'000,
                                                   50'000'000,
                                                   100'000'000,
                                                   200'000'000,
                                                   500'000'000,
                                                   1'000'000'000,
                                                   2'000'000'000,
                                                   5'000'000'000,
                                                   10'000'000'000,
                                                   20'000'000'000,
                                                   50'000'000'000};
constexpr std::array<std::int64_t, 21> kLondonSteps{
    100,       200,        500,        1'000,      2'000,       5'000,       10'000,
    20'000,    50'000,     100'000,    200'000,    500'000,     1'000'000,   2'000'000,
    5'000'000, 10'000'000, 20'000'000, 50'000'000, 100'000'000, 200'000'000, 500'000'000};

constexpr auto london(int band) {
  std::array<Step, kLondonFrom.size()> rows{};
  for (std::size_t row = 0; row < rows.size(); ++row) {
    const int at = static_cast<int>(row) + 3 - band;
    rows[row] = {{kLondonFrom[row]}, {kLondonSteps[static_cast<std::size_t>(at < 0 ? 0 : at)]}};
  }
  return rows;
}
constexpr std::array kLondon{london(1), london(2), london(3), london(4), london(5), london(6)};

struct Named {
  TickTable table;
  std::string_view name, mic;
  std::span<const Step> rows;
};
constexpr std::array kTables{
    Named{TickTable::market, "", "", kNewYork},
    Named{TickTable::xnys, "XNYS", "XNYS", kNewYork},
    Named{TickTable::xtse, "XTSE", "XTSE", kToronto},
    Named{TickTable::xlon_1, "XLON-1", "", kLondon[0]},
    Named{TickTable::xlon_2, "XLON-2", "", kLondon[1]},
    Named{TickTable::xlon_3, "XLON-3", "", kLondon[2]},
    Named{TickTable::xlon_4, "XLON-4", "", kLondon[3]},
    Named{TickTable::xlon_5, "XLON-5", "", kLondon[4]},
    Named{TickTable::xlon_6, "XLON-6", "XLON", kLondon[5]},
    Named{TickTable::xtks, "XTKS", "XTKS", kTokyo},
    Named{TickTable::xtks_500, "XTKS-500", "", kTokyo500},
    Named{TickTable::cents, "cents", "", kCents},
};

constexpr const Named& row_of(TickTable table) { return kTables[static_cast<std::size_t>(table)]; }

}  // namespace

TickTable tick_table_of(std::string_view mic) {
  const auto found = std::find_if(kTables.begin(), kTables.end(),
                                  [mic](const Named& one) { return !one.mic.empty() && one.mic == mic; });
  return found == kTables.end() ? TickTable::cents : found->table;
}

std::string_view to_string(TickTable table) { return row_of(table).name; }

Price tick_at(TickTable table, Price price) {
  const auto rows = row_of(table).rows;
  const auto next =
      std::upper_bound(rows.begin() + 1, rows.end(), price, [](Price p, const Step& row) { return p < row.from; });
  return std::prev(next)->tick;
}

}  // namespace brimwatch
