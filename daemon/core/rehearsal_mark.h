#pragma once
// What is said of a played day, or only to try a channel, is marked in its words, so that no channel, journal or screen
// can leave the mark out.
#include <string>
#include <string_view>

#include "core/notice.h"

namespace brimwatch {

inline constexpr std::string_view kRehearsalMark = "Rehearsal: ";
inline constexpr std::string_view kRehearsalSentence =
    "          REHEARSAL: a past day is played; nothing of this happens now.";
inline constexpr std::string_view kTestMark = "Test: ";
inline constexpr std::string_view kTestSentence =
    "          TEST of a channel: the stock and all its figures are invented.";

/// The mark that a title begins with; empty: none.
[[nodiscard]] inline std::string_view mark_of(std::string_view title) {
  for (const std::string_view mark : {kRehearsalMark, kTestMark})
    if (title.starts_with(mark)) return mark;
  return {};
}

/// Its title is marked; so is a digest's, whose title is made of other words.
[[nodiscard]] inline bool is_rehearsal(std::string_view title) { return title.starts_with(kRehearsalMark); }
[[nodiscard]] inline bool is_rehearsal(const NoticeRecord& record) {
  return is_rehearsal(std::string_view(record.title));
}

inline void mark_with(NoticeRecord& record, std::string_view mark, std::string_view sentence) {
  record.title.insert(0, mark);
  const bool ends_line = record.text.empty() || record.text.back() == '\n';
  record.text.append(ends_line ? "" : "\n").append(sentence).append(ends_line ? "\n" : "");
}

/// Once, however often it is called.
inline void mark_as_rehearsal(NoticeRecord& record) {
  if (!is_rehearsal(record)) mark_with(record, kRehearsalMark, kRehearsalSentence);
}
inline void mark_as_test(NoticeRecord& record) {
  if (mark_of(record.title) != kTestMark) mark_with(record, kTestMark, kTestSentence);
}

}  // namespace brimwatch
