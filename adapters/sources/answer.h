#pragma once
// What a source of past days answers, as one text that the reader of daily files takes (bars/daily_text.h): JSON becomes
// a table, a CSV's own names become ours. Pure.
#include <cstddef>
#include <string>
#include <string_view>

#include "config/history_settings.h"
#include "core/result.h"

namespace brimwatch {

struct SourceAnswer {
  std::string text;      ///< CSV with a header; empty where there are no rows
  std::size_t rows = 0;  ///< without the header
  std::string next;      ///< address of the next page; empty: none was named
};

/// Names said in the configuration win; all others are left to the reader's common names. In JSON the rows are found
/// where `fields.rows` says, else: a list at the top, or the first list of objects or lists within; an object with one
/// list a field; an object with one object a day, whose name is the day.
[[nodiscard]] Result<SourceAnswer> read_answer(std::string_view body, const HistorySource& source);

}  // namespace brimwatch
