#include "adapters/feeds/connections/line_splitter.h"

namespace brimwatch {

void LineSplitter::keep(std::string_view part) {
  if (skipping_) return;
  if (rest_.size() + part.size() > longest_) {
    skipping_ = true;
    rest_.clear();
    return on_long_();
  }
  rest_ += part;
}

void LineSplitter::add(std::string_view bytes) {
  for (;;) {
    const std::size_t end = bytes.find('\n');
    if (end == bytes.npos) break;
    const std::string_view line = bytes.substr(0, end);
    if (rest_.empty() && !skipping_ && line.size() <= longest_) {
      sink_(line);
    } else {
      keep(line);
      if (!skipping_) sink_(rest_);
      rest_.clear();
      skipping_ = false;
    }
    bytes.remove_prefix(end + 1);
  }
  if (!bytes.empty()) keep(bytes);
}

void LineSplitter::finish() {
  if (!skipping_ && !rest_.empty()) sink_(rest_);
  rest_.clear();
  skipping_ = false;
}

}  // namespace brimwatch
