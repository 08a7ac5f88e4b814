#pragma once
// The steps that prices lie on, by market and price, as data. A step of one table holds from its price up to the next
// row's; every such bound lies on a tick of the rows on both sides of it.
//
// Sources, read on 2026-11-29:
//   XNYS    17 CFR 242.612 (SEC Rule 612): 0.0001 under 1.00, 0.01 from there. Its half cent, for stocks whose spread is
//           narrow (Release 34-101070, in force from 2026-11-02), is a list that changes twice a year: say tick_size.
//   XTSE    UMIR 6.1, and the exchange's guide to order types, 6.1.2: 0.005 under 0.50, 0.01 from there.
//   XLON    Commission Delegated Regulation (EU) 2017/588, Annex, as it is part of UK law: six liquidity bands, by the
//   mean
//           number of trades a day. In the unit that the stock is quoted in, mostly pence. Article 2(1): an exchange may
//           choose a wider step.
//   XTKS    Business Regulations of the exchange, Rule 14, as on its page "Tick size" (equities, trading, domestic): the
//           table for most stocks, and the finer one of the TOPIX 500.
// Trades happen between ticks too (midpoints, price improvement); orders do not.
#include <cstdint>
#include <optional>
#include <string_view>

#include "core/price.h"

namespace brimwatch {

enum class TickTable : std::uint8_t {
  market,  ///< not said: that of the watch's calendar
  xnys,
  xtse,
  xlon_1,  ///< fewer than 10 trades a day
  xlon_2,  ///< fewer than 80
  xlon_3,  ///< fewer than 600
  xlon_4,  ///< fewer than 2,000
  xlon_5,  ///< fewer than 9,000
  xlon_6,  ///< 9,000 and more
  xtks,
  xtks_500,
  cents,  ///< 0.01 at every price, where the market's table is not known
};

/// Of a market whose stocks have several, the one whose prices are on a tick in all of them, or that of most stocks:
/// XLON-6 and XTKS.
[[nodiscard]] TickTable tick_table_of(std::string_view mic);

/// "XTKS-500"; and back: empty where there is no such table.
[[nodiscard]] std::string_view to_string(TickTable table);

/// Never 0.
[[nodiscard]] Price tick_at(TickTable table, Price price);

}  // namespace brimwatch
