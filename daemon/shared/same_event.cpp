#include "shared/same_event.h"

#include <cstdlib>
#include <string>

namespace brimwatch {
namespace {

constexpr Nanos kOneEvent = 30 * kSecond;

}  // namespace

bool is_another_event(const NoticeRecord& there, const NoticeRecord& ours) {
  const NoticeKind kind = ours.notice.kind;
  if (kind == NoticeKind::opened_over) return false;  // once a day, whenever its machine began
  return is_urgent(kind) && std::abs(there.notice.time - ours.notice.time) > kOneEvent;
}

NoticeRecord with_next_number(NoticeRecord record) {
  const std::size_t number = record.id.rfind('/') + 1;
  record.id = record.id.substr(0, number) + std::to_string(std::atoi(record.id.c_str() + number) + 1);
  ++record.notice.count;
  return record;
}

}  // namespace brimwatch
