#pragma once
// The line in a notice that says that another machine may tell it too, and why. Said once in each text. Pure.
#include <string>

#include "core/notice.h"

namespace brimwatch {

/// `member`, the machine that says it, has no log to tell it what the others say.
void mark_as_alone(NoticeRecord& record, const std::string& member);
void mark_as_alone(std::string& text, const std::string& member);
/// The one that spoke when it happened is not known to have heard it.
void mark_as_heard_alone(NoticeRecord& record, const std::string& member);

}  // namespace brimwatch
