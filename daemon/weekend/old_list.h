#pragma once
// A watch list as text that can be changed in places: what is not touched keeps its bytes. Used by carry.cpp.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/daily.h"
#include "core/result.h"

namespace brimwatch {

/// One [[watch]] table: its lines, from the user's comments above the header to the line before the next table.
struct OldWatch {
  std::vector<std::string> lines;
  std::string symbol, note;
  Price pivot;  ///< as the daemon would take it: `pivot`, or `peak` and the offset
  bool by_peak = false;
  std::optional<Date> from, until;
  std::optional<double> normal_volume;
  std::optional<Date> as_of;   ///< from our own comment; unset: the user wrote this watch
  std::optional<Price> floor;  ///< from our own comment
  std::optional<Date> terms;   ///< from our own comment: the day up to which splits are in pivot and volume already

  /// Sets `key` to `value` (TOML text), in place where the key is there, else in a new line under the symbol.
  void set(std::string_view key, const std::string& value);
  void drop_our_comments();
  /// Notes in a comment of ours, in place of an earlier one, that pivot and volume are in the terms of `day`.
  void put_terms(Date day, const std::string& splits);
  [[nodiscard]] std::string text() const;
};

struct OldList {
  std::vector<std::string> head;  ///< lines before the first watch, our comments left out
  std::vector<OldWatch> watches;
  std::vector<std::string> tail;  ///< other tables after the watches, as they were
};

/// Reads watches written as [[watch]] tables, one key a line. Errors with file:line:column.
[[nodiscard]] Result<OldList> read_old_list(std::string_view text, std::string_view name, Price offset);

/// The user's part of a note: all that stands outside of the first [brackets], trimmed.
[[nodiscard]] std::string user_part(std::string_view note);
/// The text in the first [brackets], empty when there are none.
[[nodiscard]] std::string our_part(std::string_view note);

}  // namespace brimwatch
