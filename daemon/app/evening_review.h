#pragma once
// The day's review as a notice, and its page. Its id comes from the day, so that a restart cannot send a second one; the
// journal keeps its text, and the page with its pictures is made anew.
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapters/channel.h"
#include "config/settings.h"
#include "core/result.h"
#include "evening/crossing_odds.h"
#include "session/calendar.h"

namespace brimwatch {

/// The page of a review with its pictures.
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

/// Where a month has begun since the file beside the learned curves was last written: learns from the crossings of the
/// year before `since` and writes it. What is in the file then; empty: nothing was due. Not for the loop's thread.
[[nodiscard]] Result<OwnLifts> renew_own_lifts(const std::string& journal, const Settings& settings, Date since);

/// A channel that gives each review its page before it sends it, and leaves other messages alone. The page is made on the
/// channel's own thread, which may wait, and kept for further attempts; where it cannot be made, the text goes alone.
class WithReviewPages final : public Channel {
 public:
  using MakePage = std::function<Result<EveningPage>(const NoticeRecord& review)>;
  WithReviewPages(std::unique_ptr<Channel> inner, MakePage make) : inner_(std::move(inner)), make_(std::move(make)) {}
  [[nodiscard]] Delivery send(const Message& message) override;

 private:
  std::unique_ptr<Channel> inner_;
  MakePage make_;
  std::string made_for_;  ///< id of the review that page_ belongs to
  EveningPage page_;
};

}  // namespace brimwatch
