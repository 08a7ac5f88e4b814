#pragma once
// What is said of a played day is marked in its words, so that no channel, journal or screen can leave the mark out.
#include <string>
#include <string_view>

#include "core/notice.h"

namespace brimwatch {

inline constexpr std::string_view kRehearsalMark = "Rehearsal: ";
inline constexpr std::string_view kRehearsalSentence =
    "          REHEARSAL: a past day is played; nothing of this happens now.";

/// Its title is marked; so is a digest's, whose title is made of other words.
[[nodiscard]] inline bool is_rehearsal(std::string_view title) { return title.starts_with(kRehearsalMark); }
[[nodiscard]] inline bool is_rehearsal(const NoticeRecord& record) {
  return is_rehearsal(std::string_view(record.title));
}

/// Once, however often it is called.
inline void mark_as_rehearsal(NoticeRecord& record) {
  if (is_rehearsal(record)) return;
  record.title.insert(0, kRehearsalMark);
  const bool ends_line = record.text.empty() || record.text.back() == '\n';
  record.text.append(ends_line ? "" : "\n").append(kRehearsalSentence).append(ends_line ? "\n" : "");
}

}  // namespace brimwatch
