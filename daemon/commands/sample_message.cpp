#include "commands/sample_message.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "core/rehearsal_mark.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr int kNowMinute = 132;  ///< of the invented day
constexpr int kSessionMinutes = 390;
constexpr Price kPivot{48'350'000}, kTop{50'760'000}, kLossLimit{44'480'000};

struct Place {
  NoticeKind after = NoticeKind::crossed;
  Price price;
  Side side = Side::inside;
};

/// Where the price stands after an event that moves it; after any other it stands where the first row says.
constexpr Place kPlaces[] = {
    {NoticeKind::crossed, Price{48'410'000}, Side::inside},   {NoticeKind::opened_over, Price{51'200'000}, Side::over},
    {NoticeKind::left_range, Price{50'810'000}, Side::over},  {NoticeKind::back_inside, Price{50'240'000}, Side::inside},
    {NoticeKind::fell_under, Price{47'830'000}, Side::under}, {NoticeKind::loss_limit, Price{44'460'000}, Side::under},
    {NoticeKind::gain, Price{58'390'000}, Side::over},
};

Place place_after(NoticeKind kind) {
  const auto* const found =
      std::find_if(std::begin(kPlaces), std::end(kPlaces), [kind](const Place& one) { return one.after == kind; });
  return found == std::end(kPlaces) ? kPlaces[0] : *found;
}

VolumeView invented_volume(NoticeKind kind) {
  VolumeView volume;
  const bool is_light = kind == NoticeKind::volume_faded;
  volume.so_far = Shares::whole(is_light ? 318'000 : 912'000);
  volume.normal = Shares::whole(1'290'000);
  volume.projected = is_light ? 1'110'000 : 2'290'000;
  volume.low = is_light ? 860'000 : 1'900'000;
  volume.high = is_light ? 1'480'000 : 2'800'000;
  volume.surge = (volume.projected / volume.normal.as_double() - 1) * 100;
  volume.odds = is_light ? 0.06 : 0.94;
  volume.weight = is_light ? Weight::light : Weight::heavy;
  volume.why_not = NoJudgement::none;
  volume.minutes = kNowMinute;
  return volume;
}

bool is_of_a_feed(NoticeKind kind) {
  return kind == NoticeKind::feed_silent || kind == NoticeKind::feed_late || kind == NoticeKind::feed_back;
}

Notice invented_notice(NoticeKind kind, std::chrono::sys_seconds now, std::chrono::seconds offset) {
  Notice notice;
  notice.kind = kind;
  notice.time = Timestamp{now.time_since_epoch().count() * kSecond};
  notice.day = *parse_date(to_rfc3339(notice.time, offset).substr(0, 10));
  if (is_of_a_feed(kind)) return notice.detail = "Its last message came 45 s ago.", notice;
  if (kind == NoticeKind::self_check) return notice.detail = "KLVN has no normal volume. Its history is missing.", notice;
  const Place place = place_after(kind);
  notice.price = place.price, notice.side = place.side;
  if (kind == NoticeKind::gain) notice.bought = Price{48'600'000};
  notice.price_before = Price{48'290'000};
  notice.pivot = kPivot, notice.range_top = kTop, notice.loss_limit = kLossLimit;
  notice.trend = Trend::up;
  notice.age = kSecond / 2;
  notice.volume = invented_volume(kind);
  return notice;
}

/// A day that climbs from under the pivot to where the notice says that it is.
DayPicture invented_day(const NoticeRecord& record) {
  DayPicture day = picture_of(record);
  const double last = record.notice.price.as_double(), first = kPivot.as_double() * 0.985;
  day.now_minute = kNowMinute;
  day.session_minutes = kSessionMinutes;
  for (int minute = 0; minute <= kNowMinute; ++minute) {
    const double at = minute, part = at / kNowMinute, wave = 0.14 * std::sin(at / 7) * (1 - part);
    day.price.push_back({at, first + (last - first) * part * part + wave});
    day.volume.push_back({at, record.notice.volume.so_far.as_double() * (0.6 * part + 0.4 * part * part)});
  }
  for (int quarter = 0; quarter <= kSessionMinutes / 15; ++quarter) {
    const double part = quarter * 15.0 / kSessionMinutes;
    day.usual.push_back({quarter * 15.0, part * (1.35 - 0.35 * part)});
  }
  day.marks = {{kNowMinute, last, std::string(to_string(record.notice.kind))}};
  return day;
}

}  // namespace

SampleMessage sample_message(NoticeKind kind, std::string_view channel, std::chrono::sys_seconds now,
                             std::chrono::seconds offset) {
  const std::string_view symbol = is_of_a_feed(kind) ? "main" : kind == NoticeKind::self_check ? "" : "KLVN";
  NoticeRecord record = word(invented_notice(kind, now, offset), {symbol, "an invented stock", offset});
  mark_as_test(record);
  record.id =
      "test/" + to_rfc3339(record.notice.time) + "/" + clean_line(channel, 60) + "/" + std::string(to_string(kind));
  SampleMessage out;
  if (record.notice.price.is_set()) out.picture = invented_day(record);
  out.message.id = record.id;
  out.message.title = record.title;
  out.message.text = record.text;
  out.message.notices.push_back(std::move(record));
  return out;
}

}  // namespace brimwatch
