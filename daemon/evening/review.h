#pragma once
// What followed the notices of one or many days: pure arithmetic over the journal (what was said) and daily bars (what
// happened). No hindsight: following a notice means its own price, its own loss limit, costs, and nothing known later;
// and no result is left out of a total because it has not ended.
#include <array>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/answer.h"
#include "core/daily.h"
#include "core/notice.h"
#include "core/state.h"
#include "crossings/crossing.h"
#include "evening/base_rates.h"
#include "evening/share.h"
#include "journal/journal.h"
#include "volume/grading/reliability.h"

namespace brimwatch {

/// A pivot that was watched; for finding crossings that no notice told.
struct ReviewWatch {
  std::string symbol;
  Price pivot;
  std::optional<Date> from, until;
  Price rearm_level;  ///< a crossing counts again only after the price has been down to here; 0: always
};

struct ReviewOptions {
  Date from, to;              ///< trade dates, both included
  double cost_percent = 0.1;  ///< of the price, paid at each of two trades
  int late_seconds = 60;      ///< delivered later than this after it happened is late
};

/// One day whose bar is doubtful, or that has none though the exchange traded.
struct BarDoubt {
  Date day;
  bool other_terms = false;  ///< prices from that day on are in other terms than those before: an unreported split
  std::string text;
};

struct ReviewInput {
  std::vector<NoticeRecord> notices;                           ///< in the order of the journal; more days than `options`
  std::map<std::string, std::vector<DeliveryRow>> deliveries;  ///< by notice id
  std::map<std::string, std::string> speakers;                 ///< of several machines, by notice id: which said it
  std::map<std::pair<std::string, Date>, DayRecord> days;      ///< what the feed made of each day
  std::map<std::string, std::vector<DailyBar>, std::less<>> bars;  ///< daily bars by symbol, up to today
  /// Bars that are doubtful, ascending by day: nothing is judged by them, nor by what follows them.
  std::map<std::string, std::vector<BarDoubt>, std::less<>> doubts;
  std::vector<DailyBar> index;  ///< of the market's index; empty: none is configured
  std::vector<Hole> holes;
  std::vector<Answer> answers;  ///< bought and sold, up to the end of the span, in order
  std::vector<ReviewWatch> watches;
  std::map<std::string, std::string> adjusted;  ///< by notice id: the splits since then, "2:1 split on 2026-11-20"
  BaseRates base_rates;                         ///< what the same weeks brought without any notice
  ReviewOptions options;
};

constexpr std::array<int, 3> kSpans = {1, 5, 20};  ///< sessions after the day of the notice

/// From the notice's price to the highest high, the lowest low and the last close of the sessions after its day, percent.
struct Swing {
  double rise = 0, fall = 0, close = 0;
  std::optional<double> index;  ///< the index over the same sessions, close to close; empty: not known
};

/// What following the notice's own rules would have meant: bought at its price when the volume was heavy, the price
/// inside the range and the market not down; sold at the loss limit, or at the close of the 20th session, or not yet.
struct Followed {
  bool taken = false;
  std::string why;              ///< "heavy at 10:42, inside the range", or why it was not taken
  Price bought, sold;           ///< `sold` is the last close while it is open
  Date sold_on;                 ///< or the day of that close
  bool open = false;            ///< neither the loss limit nor the 20th session has come
  bool unpriced = false;        ///< open, and no close since the purchase is known: `sold` is the price paid
  bool at_limit = false;        ///< sold at the loss limit (or at an opening under it)
  double result = 0;            ///< percent, after costs
  std::optional<double> index;  ///< the index from the day of the purchase to that of the sale, percent
};

/// One crossing (crossed or opened-over), with all that came of it.
struct Crossing {
  NoticeRecord said;             ///< prices and volumes in the terms of the last bar
  std::string adjusted;          ///< splits since then, empty: none
  std::string doubt;             ///< what is doubtful in the bars that would tell what came of it; empty: nothing
  std::string speaker;           ///< of several machines the one that said it; empty: there is one
  std::optional<double> volume;  ///< the day's, in the shares that the notice counts in (part_of_tape)
  bool official = false;         ///< it is from the daily bar, else the feed's own count
  std::optional<double> surge;   ///< against the notice's normal volume, percent
  std::optional<bool> came;      ///< the surge reached what was needed
  bool in_interval = false;      ///< the volume lies in the 80 % interval said
  std::optional<Price> close;
  Side closed = Side::unknown;
  std::array<std::optional<Swing>, kSpans.size()> after;
  std::optional<CameFirst> first;  ///< from the notice's price, within 60 sessions; empty: not known yet
  Followed followed;
};

/// A sale of a stock, or of a part of it, and what had been told of it since it was bought.
struct DeedSale {
  Answer sold;                            ///< its price may be 0: not said
  NoticeKind told = NoticeKind::crossed;  ///< the last notice about the price; means nothing without an id
  std::string notice_id{};                ///< empty: nothing was told
  Nanos after = 0;                        ///< from that notice to the sale
};

/// A purchase that its user said of, in the terms of the last bar. Of several purchases of one stock each sale takes its
/// part of every one.
struct Deed {
  Answer bought;
  std::string notice_id;         ///< the crossing that was told before it; empty: none was
  Price told;                    ///< its price
  Nanos after = 0;               ///< from the crossing to the purchase
  bool inside = true;            ///< not above the range that was told
  std::vector<DeedSale> parts;   ///< sales of a part, within the span or before
  std::optional<DeedSale> sold;  ///< of all that was left
  Price last;                    ///< what it was sold at, or the last close; 0: not known
  std::optional<double> result;  ///< percent, without costs, over all parts; empty: a price is not known
};

/// A feed that carries a part of the tape is judged in its own shares: so many of them for one share of the whole tape.
[[nodiscard]] double part_of_tape(const VolumeView& volume);

/// Crossings of one weight.
struct WeightGroup {
  Weight weight = Weight::unknown;
  int count = 0;
  Share came;  ///< the volume, of those whose day's volume is known
  Share held;  ///< closed at or above the pivot, of those whose close is known
};

/// What the sessions after the crossings brought.
struct Aftermath {
  Share up20, down8;                  ///< rose 20 % before falling 8 %, and the reverse, of those that are decided
  int swings = 0;                     ///< crossings whose next 20 sessions are known
  std::optional<double> best, worst;  ///< median of their highest high and lowest low, percent
};

/// Odds said against what came, of the judged crossings whose property lies in from < x <= to.
struct OddsBand {
  double from = 0, to = 0;
  int count = 0;
  double said = 0;  ///< mean of the odds
  Share came;
};

/// Were the odds right at the moments when they were needed? Crossings of older journals, which do not say, are in
/// `unknown` alone.
struct OddsAtCrossings {
  std::vector<OddsBand> by_minute;  ///< minutes of trading since the open; bands without a crossing are left out
  std::vector<OddsBand> by_gap;     ///< opening gap, daily deviations; up to 0: it was not known
  int unknown = 0;
  int with_own = 0;                    ///< said with a lift that the user's own crossings had taught
  double own_least = 0, own_most = 0;  ///< of these
};

/// One failure: a crossing without a notice, or a late or lost notice.
struct DayTrouble {
  enum class Kind : std::uint8_t { missed, not_delivered, late, blind } kind = Kind::missed;
  Date day;
  std::string symbol, notice_id, channel;
  std::string why;  ///< a sentence
};
[[nodiscard]] std::string_view to_string(DayTrouble::Kind kind);

/// Of all purchases; those that are open count with what they stand at.
struct FollowSummary {
  int taken = 0, ended = 0, open = 0, at_limit = 0;
  int unpriced = 0;                                  ///< of the open ones: no close is known since the purchase
  Share won;                                         ///< higher after costs
  double mean = 0, median = 0, best = 0, worst = 0;  ///< percent
  double ended_mean = 0, open_mean = 0;
};

struct Review {
  ReviewOptions options;
  std::vector<Date> sessions;  ///< of the span, as far as bars or notices know of them
  bool has_index = false;      ///< outcomes can be set against the market's
  std::vector<Crossing> crossings;
  std::vector<WeightGroup> weights;  ///< heavy, unsettled, light, unknown
  WeightGroup all;                   ///< every crossing, whatever its weight
  Aftermath after;                   ///< of every crossing
  BaseRates base_rates;
  int in_interval = 0, with_interval = 0;
  Reliability reliability;
  OddsAtCrossings at_crossings;
  FollowSummary followed;
  std::vector<Deed> deeds;  ///< what was done beside what was told
  std::vector<DayTrouble> troubles;
  std::array<int, kNoticeKinds> by_kind{};
  int notices = 0;         ///< that were told
  int held_back = 0;       ///< notices for a falling market, in the journal alone: nobody could act on them
  bool rehearsal = false;  ///< some of the notices were said of a day that was played
};

[[nodiscard]] Review review(const ReviewInput& input);

/// For the terminal and for the body of a mail: plain text, lines of 80 characters at most. The sum comes first.
[[nodiscard]] std::string in_words(const Review& review);
[[nodiscard]] std::string held_back_words(const Review& review);
/// Only the part on the odds: the table of what was said against what came, and whether they have drifted.
[[nodiscard]] std::string odds_in_words(const Review& review);
/// The same by minutes since the open and by gap; empty where no crossing was judged.
[[nodiscard]] std::string crossing_odds_in_words(const Review& review);
/// Which shares a crossing's volumes are counted in, a phrase without a full stop; empty for those of the whole tape.
[[nodiscard]] std::string counted_in_words(const Crossing& one);
/// One line, one object; keys follow the fields above. All volumes of a crossing are in the shares of its feed_ratio,
/// which is there where it is not 1.
[[nodiscard]] std::string to_json(const Review& review);

/// Markup of the pictures of a page; who makes the page draws them.
struct PagePictures {
  std::function<std::string(const Reliability&)> odds;
  std::function<std::string(const Crossing&, const std::vector<DailyBar>&)> crossing;
};

/// A page of its own, nothing loaded from elsewhere: the sum, the tables, the odds as a picture, a picture of each
/// crossing. `more` is markup put before the crossings.
[[nodiscard]] std::string to_html(const Review& review, const ReviewInput& input, const PagePictures& pictures,
                                  const std::string& more = {});

}  // namespace brimwatch
