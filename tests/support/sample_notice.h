#pragma once
// An invented notice that tests change to what they need.
#include "core/notice.h"
#include "core/wording.h"

namespace brimwatch::testing_support {

inline VolumeView sample_volume(Weight weight) {
  VolumeView volume;
  volume.so_far = Shares::whole(612'000);
  volume.normal = Shares::whole(1'290'000);
  volume.projected = 2'296'000;
  volume.low = 1'900'000;
  volume.high = 2'800'000;
  volume.surge = 78;
  volume.odds = 0.94;
  volume.weight = weight;
  volume.why_not = NoJudgement::none;
  if (weight == Weight::light) {
    volume.so_far = Shares::whole(141'000);
    volume.projected = 1'123'000, volume.low = 840'000, volume.high = 1'510'000, volume.surge = -12.9, volume.odds = 0.04;
  } else if (weight == Weight::unsettled) {
    volume.so_far = Shares::whole(402'000);
    volume.projected = 1'780'000, volume.low = 1'350'000, volume.high = 2'310'000, volume.surge = 38, volume.odds = 0.47;
  } else if (weight == Weight::unknown) {
    volume.normal = {}, volume.projected = volume.low = volume.high = volume.surge = volume.odds = 0;
    volume.why_not = NoJudgement::no_normal;
  }
  return volume;
}

/// 2026-11-25 10:42:07 New York: KLVN crosses 48.35.
inline Notice sample_notice(NoticeKind kind = NoticeKind::crossed, Weight weight = Weight::heavy) {
  Notice notice;
  notice.kind = kind;
  notice.side = Side::inside;
  notice.trend = Trend::up;
  notice.day = Date::of(2026, 11, 25);
  notice.time = *parse_rfc3339("2026-11-25T10:42:07.25-05:00");
  notice.age = 412'000'000;
  notice.price = Price{48'410'000};
  notice.price_before = Price{48'290'000};
  notice.pivot = Price{48'350'000};
  notice.range_top = Price{50'760'000};
  notice.loss_limit = Price{44'480'000};
  notice.volume = sample_volume(weight);
  return notice;
}

inline WordingContext sample_context() { return {"KLVN", "cup with handle, 9 weeks", std::chrono::hours(-5)}; }

inline NoticeRecord sample_record(NoticeKind kind = NoticeKind::crossed, Weight weight = Weight::heavy) {
  return word(sample_notice(kind, weight), sample_context());
}

}  // namespace brimwatch::testing_support
