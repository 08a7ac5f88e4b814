#include "app/evening_review.h"

#include <algorithm>
#include <cstdio>

#include "core/text.h"
#include "dispatch/plan.h"
#include "evening/gather.h"
#include "evening/review.h"
#include "files/text_file.h"
#include "pictures/days_picture.h"
#include "pictures/odds_picture.h"
#include "replay/rules_replay.h"
#include "weekend/prepare.h"

namespace brimwatch {
namespace {

constexpr int kBarsBefore = 60, kBarsAfter = 20;

DaysPicture picture_of(const Crossing& one, const std::vector<DayBar>& bars) {
  const Notice& said = one.said.notice;
  DaysPicture out;
  out.title = one.said.symbol + ", " + to_string(said.day);
  const int at = last_bar_by(bars, said.day);
  const bool has_day = at >= 0 && bars[static_cast<std::size_t>(at)].day == said.day;
  const int first = std::max(0, at - kBarsBefore), last = std::min(static_cast<int>(bars.size()) - 1, at + kBarsAfter);
  for (int i = first; i <= last; ++i) {
    const DayBar& bar = bars[static_cast<std::size_t>(i)];
    out.days.push_back({bar.day, bar.low.as_double(), bar.high.as_double(), bar.close.as_double(), bar.volume});
  }
  out.marked = has_day ? static_cast<std::size_t>(at - first) : out.days.size();
  out.marked_price = said.price.as_double();
  out.pivot = said.pivot.as_double();
  out.range_top = said.range_top.as_double();
  out.loss_limit = said.loss_limit.as_double();
  out.normal = said.volume.normal.as_double() / part_of_tape(said.volume);  // the bars are of the whole tape
  return out;
}

std::vector<OddsPoint> points_of(const Reliability& reliability) {
  std::vector<OddsPoint> out;
  for (const ReliabilityRow& row : reliability.rows) out.push_back({row.said, row.share, row.low, row.high, row.count});
  return out;
}

/// Gives each picture a name and keeps it; its markup says what it shows to who cannot see it.
class Album {
 public:
  explicit Album(EveningPage& page) : page_(page) {}

  std::string add(std::vector<std::uint8_t> png, const std::string& alt) {
    if (png.empty() || page_.pictures.size() >= kPicturesMost) return {};
    const std::string name = "picture-" + std::to_string(page_.pictures.size() + 1);
    page_.pictures.push_back({name, std::move(png)});
    return "<img src=\"cid:" + name + "\" alt=\"" + escape_markup(clean_line(alt)) +
           "\" style=\"display:block;max-width:100%;height:auto\">";
  }

 private:
  EveningPage& page_;
};

EveningPage page_of(const Review& day, const ReviewInput& input, const Review& trailing, const std::string& words) {
  EveningPage page;
  Album album(page);
  PagePictures pictures;
  pictures.odds = [&](const Reliability& r) {
    return album.add(odds_png(points_of(r)), "Odds said against what came true");
  };
  pictures.crossing = [&](const Crossing& one, const std::vector<DayBar>& bars) {
    const Notice& said = one.said.notice;
    return album.add(days_png(picture_of(one, bars)), one.said.symbol + " around " + to_string(said.day) + ": pivot " +
                                                          to_string(said.pivot) + ", crossed at " +
                                                          to_string(said.price));
  };
  std::string more;
  if (trailing.reliability.count > 0) {
    more = "<h2>The odds since " + to_string(trailing.options.from) + "</h2>" + pictures.odds(trailing.reliability) +
           "<p>" + escape_markup(clean_line(describe_drift(trailing.reliability), 400)) + "</p>\n";
  }
  if (!words.empty()) more += "<pre>" + escape_markup(words) + "</pre>\n";
  page.html = to_html(day, input, &pictures, more);
  return page;
}

std::string title_of(const Review& review) {
  int came = 0, decided = 0;
  for (const Crossing& one : review.crossings) decided += one.came.has_value(), came += one.came.value_or(false);
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
  auto since = gather(**journal, *sources, back);
  if (!since) return tl::unexpected(since.error());
  since->input.watches.clear();  // what was missed on earlier days has been told on those
  const Review review_of_day = review(today->input), trailing = review(since->input);
  EveningReview out;
  std::string words = odds_in_words(trailing);
  if (!words.empty()) words = "Since " + to_string(back.from) + ":\n" + words;
  if (!losses.empty()) words += losses + ".\n";
  out.record = record_of(review_of_day, words, now, offset);
  out.page = page_of(review_of_day, today->input, trailing, words);
  return out;
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
