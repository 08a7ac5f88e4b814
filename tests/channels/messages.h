#pragma once
// Messages for the tests of channels.
#include <thread>

#include "adapters/channel.h"
#include "tests/support/sample_notice.h"

namespace brimwatch::testing_support {

inline Message message_of(NoticeRecord record, std::vector<std::uint8_t> picture = {}) {
  Message message;
  message.id = record.id;
  message.title = record.title;
  message.text = record.text;
  message.notices.push_back(std::move(record));
  message.picture_png = std::move(picture);
  return message;
}

inline Message digest_of(std::vector<NoticeRecord> records) {
  Message message;
  message.id = "digest/2026-11-25/1";
  message.title = std::to_string(records.size()) + " notices";
  for (const NoticeRecord& record : records) message.text += (message.text.empty() ? "" : "\n") + record.text;
  message.notices = std::move(records);
  return message;
}

}  // namespace brimwatch::testing_support
