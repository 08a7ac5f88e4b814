#include "live/feed_notices.h"

namespace brimwatch {

std::optional<NoticeKind> notice_kind_of(FeedEvent::Kind kind) {
  switch (kind) {
    case FeedEvent::Kind::silent:
    case FeedEvent::Kind::symbol_silent:
      return NoticeKind::feed_silent;
    case FeedEvent::Kind::late:
      return NoticeKind::feed_late;
    case FeedEvent::Kind::back:
    case FeedEvent::Kind::on_time:
    case FeedEvent::Kind::symbol_back:
      return NoticeKind::feed_back;
    case FeedEvent::Kind::clock:
    case FeedEvent::Kind::remark:
    case FeedEvent::Kind::flapping:
    case FeedEvent::Kind::unheard:
      return NoticeKind::self_check;
    case FeedEvent::Kind::hole:
    case FeedEvent::Kind::changed:
    case FeedEvent::Kind::reconnect:
      return std::nullopt;
  }
  return std::nullopt;
}

}  // namespace brimwatch
