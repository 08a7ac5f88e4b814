// The house as one of several machines, of which one speaks.
#include <utility>

#include "live/house.h"

namespace brimwatch {

void House::adopt(const std::vector<WatchState>& watches) {
  if (watches.empty() || !stage_.is_up()) return;
  desk_->engine().restore(watches, {});
  answered_.hold_stocks(today_for_answers());
  dirty_ = true;
}

void House::hear(const std::vector<NoticeRecord>& notices) {
  for (const NoticeRecord& record : notices) {
    own_.note(record);
    show(record);
  }
}

void House::speak(std::vector<OpenDelivery> open) {
  speaks_ = true;
  out_.take_up(std::move(open));
  pump();
}

void House::stand_by() {
  speaks_ = false;
  out_.stand_down();
  if (world_.feed_at_takeover) in_.set({}, {}, {});
}

void House::begin_feed(const std::vector<SymbolState>& symbols) {
  if (in_.size() > 0 || !stage_.is_up()) return;
  desk_->engine().restore({}, symbols);
  note_seen(symbols);
  has_begun_ = false, begun_with_ = {};  // what it heard the last time is long ago
  started_steady_ = world_.steady();
  auto made = in_.make(desk_->settings().feeds);
  if (!made) return tell_self_check("the feed cannot be begun: " + made.error().text);
  in_.set(desk_->settings().feeds, symbols_of(desk_->settings()), std::move(*made));
  tell_if_blind();
}

void House::tell_taken_over(const std::string& detail) {
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.detail = detail;
  tell_about("shared", std::move(notice));
}

}  // namespace brimwatch
