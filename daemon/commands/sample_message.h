#pragma once
// What `brimwatch channels try --sample` sends: a notice as it would look on a day of an invented stock, with its
// picture, urgency and length; marked as a test in its title and its text, so that nobody takes it for an event of the
// market.
#include <chrono>
#include <string_view>

#include "adapters/channel.h"
#include "pictures/picture.h"

namespace brimwatch {

struct SampleMessage {
  Message message;
  DayPicture picture;
};

/// `offset` is the user's own from UTC; the same moment and kind give the same bytes.
[[nodiscard]] SampleMessage sample_message(NoticeKind kind, std::string_view channel, std::chrono::sys_seconds now,
                                           std::chrono::seconds offset);

}  // namespace brimwatch
