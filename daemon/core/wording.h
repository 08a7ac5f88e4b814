#pragma once
// The words of a notice: title and text, for every channel alike. Who is told what, what it means, what not to do; in one
// glance. Pure: the same notice gives the same words, always.
#include <chrono>
#include <string>
#include <string_view>

#include "core/notice.h"

namespace brimwatch {

struct WordingContext {
  std::string_view symbol;  ///< or the feed's name
  std::string_view note;
  std::chrono::seconds offset{};  ///< of exchange time from UTC at the notice's time
};

/// Fills id, symbol, title, text and note from the notice.
[[nodiscard]] NoticeRecord word(Notice notice, const WordingContext& context);

}  // namespace brimwatch
