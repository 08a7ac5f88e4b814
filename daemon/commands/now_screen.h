#pragma once
// What `brimwatch now` shows of a daemon's snapshot, as lines of at most 80 columns: what makes the prices doubtful
// first, then the feeds, then the watches that matter soonest. Pure.
#include <string>
#include <vector>

#include "core/text/json_fwd.h"
#include "terminal/terminal.h"

namespace brimwatch {

struct ScreenLine {
  std::string text;
  Style style = Style::plain;
};

constexpr std::size_t kScreenColumns = 80;

/// `snapshot` as the control socket gives it. `rows`: no more lines than that, the last one then says how many watches
/// are left out; 0: all of them.
[[nodiscard]] std::vector<ScreenLine> now_screen(const OrderedJson& snapshot, std::size_t rows);

}  // namespace brimwatch
