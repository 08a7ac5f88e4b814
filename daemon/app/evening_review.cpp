#include "app/evening_review.h"

#include <algorithm>
#include <cstdio>

#include "app/review_pictures.h"
#include "core/text/text.h"
#include "dispatch/plan.h"
#include "evening/gather.h"
#include "evening/review.h"
#include "files/text_file.h"
#include "replay/rules_replay.h"
#include "weekend/prepare.h"

namespace brimwatch {
namespace {

/// Gives each picture a name and keeps it, as it is on a light and on a dark ground: the page's style shows the one that
/// goes with the reader's screen, and a client that knows no such style the light one. Its markup says what it shows to
/// who cannot see it.
class Album {
 public:
  explicit Album(EveningPage& page) : page_(page) {}

  std::string add(std::vector<std::uint8_t> light, std::vector<std::uint8_t> dark, const std::string& alt) {
    if (light.empty() || page_.pictures.size() + 2 > 2 * kPicturesMost) return {};
    return image(std::move(light), alt, "bright", "display:block") + image(std::move(dark), alt, "dim", "display:none");
  }

 private:
  std::string image(std::vector<std::uint8_t> png, const std::string& alt, const char* look, const char* display) {
    const std::string name = "picture-" + std::to_string(page_.pictures.size() + 1);
    page_.pictures.push_back({name, std::move(png)});
    return "<img class=\"" + std::string(look) + "\" src=\"cid:" + name + "\" alt=\"" + escape_markup(clean_line(alt)) +
           "\" style=\"" + display + ";max-width:100%;height:auto\">";
  }

  EveningPage& page_;
};

EveningPage page_of(const Review& day, const ReviewInput& input, const Review& trailing, const std::string& words) {
  EveningPage page;
  Album album(page);
  PagePictures pictures;
  pictures.odds = [&](const Reliability& r) {
    const auto points = odds_points(r);
    return album.add(odds_png(points), odds_png(points, PictureStyle::dark), words_for_odds(r));
  };
  pictures.crossing = [&](const Crossing& one, const std::vector<DailyBar>& bars) {
    const DaysPicture days = days_around(one, bars);
    return album.add(days_png(days), days_png(days, PictureStyle::dark), words_for(one));
  };
  std::string more;
  if (trailing.reliability.count > 0) {
    more = "<h2>The odds since " + to_string(trailing.options.from) + "</h2>" + pictures.odds(trailing.reliability) +
           "<p>" + escape_markup(clean_line(describe_drift(trailing.reliability), 400)) + "</p>\n";
  }
  if (!words.empty()) more += "<pre>" + escape_markup(words) + "</pre>\n";
  page.html = to_html(day, input, pictures, more);
  return page;
}

std::string title_of(const Review& review) {
  const int came = review.all.came.hits, decided = review.all.came.of;
  const auto count = review.crossings.size();
  std::string out = "Review of " + to_string(review.options.to) + ": " + std::to_string(count) +
                    (count == 1 ? " crossing" : " crossings");
  if (decided > 0) out += ", " + std::to_string(came) + " of " + std::to_string(decided) + " with the volume wanted";
  if (!review.troubles.empty()) out += "; missed or late: " + std::to_string(review.troubles.size());
  return out;
}

NoticeRecord record_of(const Review& review, const std::string& trailing, Timestamp now, std::chrono::seconds offset) {
  NoticeRecord out;
  out.symbol = kReviewName;
  out.notice.kind = NoticeKind::day_end;
  out.notice.day = review.options.to;
  out.notice.time = now;
  out.id = notice_id(out.notice.day, out.symbol, {}, NoticeKind::day_end, 1);
  out.offset = offset;
  out.title = title_of(review);
  out.text = in_words(review);
  if (!trailing.empty()) out.text += "\n" + trailing;
  return out;
}

Result<ReviewSources> sources_of(const Settings& settings) {
  ReviewSources out;
  out.history = settings.history.daily;
  out.watches = review_watches(settings);
  out.index = settings.market.index;
  out.checks = settings.history.checks;
  out.sessions = review_sessions(settings);
  if (settings.history.splits.empty()) return out;
  const auto text = read_file(settings.history.splits);
  if (!text) return tl::unexpected(text.error());
  auto events = parse_price_events(*text, settings.history.splits);
  if (!events) return tl::unexpected(events.error());
  out.events = std::move(*events);
  return out;
}

}  // namespace

Result<EveningReview> make_evening_review(const std::string& journal_path, const Settings& settings, Date day,
                                          Timestamp now, std::chrono::seconds offset) {
  const auto sources = sources_of(settings);
  if (!sources) return tl::unexpected(sources.error());
  const auto journal = Journal::open_read_only(journal_path, {.check = false});
  if (!journal) return tl::unexpected(journal.error());
  ReviewOptions span;
  span.from = span.to = day;
  auto today = gather(**journal, *sources, span);
  if (!today) return tl::unexpected(today.error());
  const std::string losses = (*journal)->losses();
  ReviewOptions back = span;
  back.from = day - settings.evening.odds_days;
  ReviewSources of_odds = *sources;
  of_odds.base_rates = false;
  auto since = gather(**journal, of_odds, back);
  if (!since) return tl::unexpected(since.error());
  since->input.watches.clear();  // what was missed on earlier days has been told on those
  const Review review_of_day = review(today->input), trailing = review(since->input);
  EveningReview out;
  std::string words = odds_in_words(trailing) + crossing_odds_in_words(trailing);
  if (!words.empty()) words = "Since " + to_string(back.from) + ":\n" + words;
  if (!losses.empty()) words += losses + ".\n";
  out.record = record_of(review_of_day, words, now, offset);
  out.page = page_of(review_of_day, today->input, trailing, words);
  return out;
}

Result<OwnLifts> renew_own_lifts(const std::string& journal_path, const Settings& settings, Date since) {
  const std::string file = own_lift_file(settings.history.learned);
  auto lifts = read_own_lifts(file);
  if (!lifts || !is_lift_due(*lifts, since)) return lifts ? OwnLifts() : lifts;
  const auto sources = sources_of(settings);
  if (!sources) return tl::unexpected(sources.error());
  const auto journal = Journal::open_read_only(journal_path, {.check = false});
  if (!journal) return tl::unexpected(journal.error());
  const auto learned = lift_before(since, **journal, *sources);
  if (!learned) return tl::unexpected(learned.error());
  lifts->push_back(*learned);
  if (const Status kept = write_own_lifts(file, *lifts); !kept) return tl::unexpected(kept.error());
  return lifts;
}

Delivery WithReviewPages::send(const Message& message) {
  if (message.notices.size() != 1 || !is_review(message.notices.front())) return inner_->send(message);
  const NoticeRecord& review = message.notices.front();
  if (made_for_ != review.id) {
    auto made = make_(review);
    if (!made) return inner_->send(message);
    page_ = std::move(*made);
    made_for_ = review.id;
  }
  Message dressed = message;
  dressed.html = page_.html;
  dressed.pictures = page_.pictures;
  return inner_->send(dressed);
}

}  // namespace brimwatch
