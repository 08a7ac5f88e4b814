#pragma once
// The day's review as a notice, once a day after the close: when it is due, and what it says. Its id comes from the day,
// so that a restart cannot send a second one; the journal keeps its text, and the page with its pictures is made anew.
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "adapters/channel.h"
#include "config/settings.h"
#include "core/result.h"
#include "session/calendar.h"

namespace brimwatch {

/// When the review is due. Pure: time comes in as an argument.
class EveningClock {
 public:
  /// The day whose review is to be made now; told once. A day's review is due from `review_at` on, but not before the
  /// session has been over for kAfterClose (its day-end notices come first), until the local day ends.
  [[nodiscard]] std::optional<Date> due(Timestamp now, const Calendar& calendar, const EveningSettings& settings);

  static constexpr Nanos kAfterClose = 15 * kMinute;

 private:
  std::optional<Date> told_;
};

/// The page of a review with its pictures, by channel message.
struct EveningPage {
  std::string html;
  std::vector<InlinePicture> pictures;
};

struct EveningReview {
  NoticeRecord record;
  EveningPage page;
};

constexpr std::size_t kPicturesMost = 20;  ///< in one mail; further crossings are told in words

/// Reads the journal and the daily bars: not for the loop's thread. `offset` is that of exchange time from UTC at `now`.
[[nodiscard]] Result<EveningReview> make_evening_review(const std::string& journal, const Settings& settings, Date day,
                                                        Timestamp now, std::chrono::seconds offset);

/// Pages of reviews that are on their way, by notice id; at most a few days' worth.
class EveningPages {
 public:
  void put(const std::string& id, EveningPage page);
  /// Gives a message that carries one review its page; leaves others alone.
  void dress(Message& message) const;

 private:
  static constexpr std::size_t kMost = 4;
  std::map<std::string, EveningPage> pages_;  ///< ids begin with the day, so the oldest is first
};

}  // namespace brimwatch
