#include "adapters/channels/matter.h"

namespace brimwatch {

std::string matter_of(const Message& message) {
  if (message.notices.size() != 1) return message.id;
  const NoticeRecord& only = message.notices.front();
  // A repetition has a message id of its own.
  return only.notice.pivot.is_set() ? only.symbol + "/" + to_string(only.notice.pivot) : only.id;
}

}  // namespace brimwatch
