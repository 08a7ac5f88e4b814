#pragma once
// What the engine has to say: one event, one text, stored once, sent to every channel that wants it.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "core/price.h"
#include "core/shares.h"
#include "core/symbols.h"
#include "core/text/timestamp.h"

namespace brimwatch {

enum class NoticeKind : std::uint8_t {
  crossed,
  opened_over,
  volume_arrived,
  volume_faded,
  left_range,
  back_inside,
  fell_under,
  loss_limit,
  halted,
  resumed,
  feed_silent,
  feed_late,
  feed_back,
  corrected,
  day_end,
  self_check,
  gain,
};
constexpr int kNoticeKinds = 17;

enum class Side : std::uint8_t { unknown, under, inside, over };
enum class Weight : std::uint8_t { unknown, light, unsettled, heavy };
enum class Trend : std::uint8_t { unknown, up, mixed, down };
/// The effect of a falling market on a crossing: none, a mark on the notice, or the journal only.
enum class WhenDown : std::uint8_t { tell, mark, hold_back };

/// "crossed", "opened-over" ...: the words of configuration, journal and JSON.
[[nodiscard]] std::string_view to_string(NoticeKind kind);
[[nodiscard]] std::string_view to_string(Side side);
[[nodiscard]] std::string_view to_string(Weight weight);
[[nodiscard]] std::string_view to_string(Trend trend);
[[nodiscard]] std::optional<NoticeKind> notice_kind_of(std::string_view word);
[[nodiscard]] std::optional<Weight> weight_of(std::string_view word);
[[nodiscard]] std::optional<Trend> trend_of(std::string_view word);

/// Why a volume judgement is missing.
enum class NoJudgement : std::uint8_t {
  none,                ///< there is a judgement
  no_normal,           ///< no normal volume is known for the symbol
  ratio_unknown,       ///< the feed carries an unknown part of the tape
  outside_session,     ///< no regular session now
  ratio_unsteady,      ///< the feed carries a part of the tape that differs too much from day to day
  heard_too_little,    ///< the feed was blind for a part of the day, and what was heard of it is too little to judge by
  day_volume_unclear,  ///< what the source's own count of the day includes is not known
};
constexpr int kNoJudgements = 7;

/// The day's volume as it looked at one moment. Shares of the whole tape unless feed_ratio says otherwise.
struct VolumeView {
  Shares so_far;
  Shares normal;              ///< trailing 50-session mean, or as configured; 0 when unknown
  double projected = 0;       ///< median of the day's total, shares
  double low = 0, high = 0;   ///< 80 % interval of it, shares
  double surge = 0;           ///< projected / normal - 1, percent
  double odds = 0;            ///< probability that the day ends at or above the needed surge, 0..1
  double needed = 40;         ///< the needed surge, percent
  double feed_ratio = 1;      ///< feed volume / official volume, used in the judgement
  double missed_minutes = 0;  ///< minutes of the session that the feed did not carry
  double minutes = -1;        ///< of trading since the open; < 0: not judged, or of an older journal
  double gap = -1;            ///< the day's opening gap in daily standard deviations; < 0: unknown
  double lift = 0;            ///< volume that comes with the crossing, as a share of the day, own_lift included
  double own_lift = 0;        ///< the part of it that the user's own crossings taught
  Weight weight = Weight::unknown;
  NoJudgement why_not = NoJudgement::no_normal;
  std::int32_t normal_days = 0;  ///< sessions that `normal` is the mean of; 0: given, or not known
};

/// For opened-over: the price was inside the range earlier in the day, or that was not seen. Short enough for a string
/// that asks for no memory.
inline constexpr const char* kEarlierInside = "earlier: inside";
inline constexpr const char* kEarlierUnseen = "earlier: unseen";
/// For a crossing that was held back while the market fell, and told when it turned.
inline constexpr const char* kHeldUntilNow = "held until now";
/// Of a day's end.
inline constexpr const char* kStillHalted = "still halted";
inline constexpr const char* kFirstAtClose = "first at close";

/// Of a holding: "bought 48.60", and back. No price: the text says something else.
[[nodiscard]] std::string bought_at(Price price);
[[nodiscard]] Price bought_in(std::string_view detail);

/// What the engine emits. Plain numbers; `detail` stays empty on the hot kinds, so that emitting allocates nothing.
struct Notice {
  NoticeKind kind = NoticeKind::crossed;
  Side side = Side::unknown;     ///< after the event
  Trend trend = Trend::unknown;  ///< of the market, as configured or computed
  bool marked = false;           ///< the market is down and when_down = "mark"
  bool delayed = false;          ///< the feed's data is older than the bound
  bool in_hole = false;          ///< the crossing happened while the feed was blind: price_before is from before the hole
  bool held = false;             ///< kept in the journal only: the market is falling, and when_down = "hold-back"
  bool doubtful = false;         ///< the price looks like a split against the last close or the pivot
  bool last_today = false;       ///< a crossing that is the last to be told today (per_day)
  bool muted = false;            ///< kept in the journal only: its user has muted the watch
  std::uint16_t count = 1;       ///< the n-th of this kind for this watch on this day, of those that stand
  std::uint16_t withdrawn = 0;   ///< added to `count` in the notice's id: some before it were taken back
  SymbolId symbol = kNoSymbol;   ///< kNoSymbol for notices about a feed or the program itself
  std::uint32_t watch = 0xFFFFFFFF;  ///< index of the watch in the list in force
  Date day;                          ///< trade date
  Timestamp time;                    ///< when it happened (exchange time of the tick behind it)
  Nanos age = -1;                    ///< received - time of the tick behind it; -1 when unknown
  Nanos to_close = -1;               ///< of trading, from `time` to the session's close; -1 when unknown
  Price price, price_before;         ///< of the tick behind it; the last eligible one before it (0 when none)
  Price pivot, range_top, loss_limit;
  Price bought;  ///< of a holding: what its user paid; the loss limit is taken from it. Of gain, loss_limit and day_end
  std::uint64_t trade_id = 0;  ///< of the trade behind it
  VolumeView volume;
  std::string detail;  ///< for feed and self-check notices: what is wrong and what to do; for opened_over: kEarlier...
};

/// A notice as it is kept and sent: with its identity and its words.
struct NoticeRecord {
  Notice notice;
  std::string id;                 ///< deterministic: day, symbol, pivot, kind, count
  std::string symbol;             ///< text of notice.symbol; for feed notices the feed's name
  std::string title;              ///< one line, about 60 characters
  std::string text;               ///< the whole message, plain text, lines of at most about 78 characters
  std::string note;               ///< the user's own note on the watch
  std::chrono::seconds offset{};  ///< of exchange time from UTC at notice.time
};

/// e.g. "2026-11-25/KLVN/48.35/crossed/1". A second pass over the same ticks makes the same id.
[[nodiscard]] std::string notice_id(Date day, std::string_view symbol, Price pivot, NoticeKind kind, int count);

/// Kinds that say what a trader can act on now; they go first, are never held back for a digest, and expire soon.
[[nodiscard]] bool is_urgent(NoticeKind kind);

/// Kinds that say that a pivot has been passed.
[[nodiscard]] constexpr bool is_pivot_crossing(NoticeKind kind) {
  return kind == NoticeKind::crossed || kind == NoticeKind::opened_over;
}

}  // namespace brimwatch
