#pragma once
// The words of a notice, title and text, alike for every channel: what happened, what it means, what not to do. Pure: the
// same notice gives the same words, always.
//
// The text: lines of at most 78 characters, those after the first indented by ten blanks.
//     10:42:07  KLVN  crossed 48.35, now 48.41 (+0.1 %); range to 50.76
//               volume 612k, heading for 2.30M ...
#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "core/notice.h"

namespace brimwatch {

struct WordingContext {
  std::string_view symbol;  ///< or the feed's name; empty for the program itself
  std::string_view note;
  std::chrono::seconds offset{};  ///< of exchange time from UTC at the notice's time
};

constexpr std::size_t kTitleMost = 60;    ///< characters of a title
constexpr std::size_t kTextWidth = 78;    ///< characters of a line of the text
constexpr std::size_t kGlanceMost = 160;  ///< characters of a line of a glance
constexpr std::size_t kTextIndent = 10;   ///< blanks before every line of the text but the first

/// Fills id, symbol, title, text, note and offset from the notice. Symbol, note and notice.detail may hold anything: in
/// title and text they stand cleaned and cut (see text.h); in id, symbol and note as they came.
///
/// What the kinds take from a notice, where it is not plain: `corrected` - price is that of the trade taken back,
/// price_before the last eligible one before it; feed kinds and `self-check` - `detail` is a sentence, shown as it is;
/// the first part of a self-check's detail (up to the first "; " or ". ") is its title.
[[nodiscard]] NoticeRecord word(Notice notice, const WordingContext& context);

/// The same words in parts, unwrapped, for a channel that lays them out itself. Empty parts are left out.
struct Spoken {
  std::string event;                 ///< "crossed 48.35, now 48.41 (+0.1 %); range to 50.76"
  std::vector<std::string> state;    ///< volume; odds, market and age of the data
  std::vector<std::string> meaning;  ///< cautions, what it means, what not to do
  std::string note;                  ///< the user's own, cleaned
};
[[nodiscard]] Spoken spoken(const NoticeRecord& record);

/// The same in three lines, for where there is room for no more: what, where, how sure.
struct Glance {
  std::string what;      ///< "KLVN crossed 48.35", with what must not be left out: "(market down, old data)"
  std::string where;     ///< "48.41 (+0.1 %), range 48.35 to 50.76, at 10:42:07"
  std::string how_sure;  ///< "heavy: odds 0.94 of +40 %; market up; data 0.4 s old"
};
[[nodiscard]] Glance glance(const NoticeRecord& record);

/// "612k, heading for 2.30M (1.90M-2.80M), +78 % on normal 1.29M", or why there is no judgement.
[[nodiscard]] std::string volume_phrase(const VolumeView& volume);

/// "odds of +40 %: 0.94, heavy"; empty when there is no judgement.
[[nodiscard]] std::string odds_phrase(const VolumeView& volume);

/// "0.94"; never 0.00 or 1.00, for nothing is certain before the close: "<0.01", ">0.99". Unsettled odds are rounded to
/// the middle, so that 0.699 does not read as the 0.70 from which on they are heavy.
[[nodiscard]] std::string odds_text(double odds, Weight weight);

/// "+0.1 %", of `price` from `base`; with a second decimal where the first would show nothing.
[[nodiscard]] std::string percent_from(Price price, Price base);

/// "+0.1 %", "-8 %": of a value in percent, with its sign.
[[nodiscard]] std::string percent_text(double value, int decimals);

/// "0.4 s", "45 s", "15 min", "3 h 05 min".
[[nodiscard]] std::string span_text(Nanos span);

}  // namespace brimwatch
