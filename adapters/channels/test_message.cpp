#include "adapters/channels/test_message.h"

#include <utility>

#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {

Message test_message(std::string_view channel, std::chrono::sys_seconds now, std::chrono::seconds offset) {
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.time = Timestamp{now.time_since_epoch().count() * kSecond};
  notice.day = *parse_date(to_rfc3339(notice.time, offset).substr(0, 10));
  notice.detail = "Test of channel " + clean_line(channel, 60) + ". Nothing has happened; notices will reach you here.";
  NoticeRecord record = word(std::move(notice), {"", "", offset});
  record.id = "test/" + to_rfc3339(record.notice.time) + "/" + std::string(channel);
  Message message;
  message.id = record.id;
  message.title = record.title;
  message.text = record.text;
  message.notices.push_back(std::move(record));
  return message;
}

std::string_view words_of(const Delivery& delivery) {
  switch (delivery.outcome) {
    case Outcome::delivered:
      return "delivered";
    case Outcome::retry:
      return "failed, may work another time";
    case Outcome::dead:
      return delivery.taken_by_some ? "refused for good by some, the others have it" : "refused for good";
    case Outcome::unknown:
      return "unknown, it may have arrived";
  }
  return "unknown";
}

}  // namespace brimwatch
