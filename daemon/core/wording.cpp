#include "core/wording.h"

#include <cmath>
#include <utility>

#include "core/rehearsal_mark.h"
#include "core/words/words.h"

namespace brimwatch {

Spoken spoken(const NoticeRecord& record) {
  return words::Words(record.notice, {record.symbol, record.note, record.offset}).parts();
}

Glance glance(const NoticeRecord& record) {
  const bool has_own_words = record.notice.kind == NoticeKind::day_end && !record.notice.pivot.is_set();  // a review
  if (has_own_words) return {record.title, clean_line(record.text.substr(0, record.text.find('\n')), kGlanceMost), {}};
  Glance out = words::Words(record.notice, {record.symbol, record.note, record.offset}).glance();
  out.what.insert(0, mark_of(record.title));
  return out;
}

std::string odds_text(double odds, Weight weight) {
  constexpr double kNoise = 1e-7;  // 0.57 * 100 is a little less than 57
  if (!std::isfinite(odds)) return "?";
  if (weight == Weight::unsettled)
    odds = odds > 0.5 ? std::floor(odds * 100 + kNoise) / 100 : std::ceil(odds * 100 - kNoise) / 100;
  if (odds < 0.005) return "<0.01";
  if (odds >= 0.995) return ">0.99";
  return words::fixed(odds, 2);
}

std::string percent_from(Price price, Price base) { return words::untied(words::change(price, base)); }
std::string percent_text(double value, int decimals) { return words::untied(words::percent(value, decimals)); }
std::string span_text(Nanos length) { return words::untied(words::span(length)); }
std::string volume_phrase(const VolumeView& volume) { return words::untied(words::phrase(volume)); }
std::string odds_phrase(const VolumeView& volume) { return words::untied(words::judgement(volume)); }

NoticeRecord word(Notice notice, const WordingContext& context) {
  NoticeRecord record;
  const words::Words said(notice, context);
  record.id = notice_id(notice.day, context.symbol, notice.pivot, notice.kind, notice.count + notice.withdrawn);
  record.symbol = context.symbol;
  record.title = said.title();
  record.text = said.text();
  record.note = context.note;
  record.offset = context.offset;
  record.notice = std::move(notice);
  return record;
}

}  // namespace brimwatch
