#pragma once
// All that is wrong in a configuration, each problem with its place, bounded in number.
#include <cstdint>
#include <string>
#include <vector>

#include "config/reading/value.h"

namespace brimwatch {

/// One line for a person. `text` says where in the file's own terms, what was found, what is allowed, what was done about
/// it.
struct Problem {
  std::string file;
  std::uint32_t line = 0;    ///< 1-based; 0: the file as a whole
  std::uint32_t column = 0;  ///< 1-based, in characters; 0: the line as a whole
  std::string text;

  bool operator==(const Problem&) const = default;
};

/// "watch.toml:14:9: watch "KLVN": pivot: found ..."
[[nodiscard]] std::string to_string(const Problem& problem);

/// Collects problems while files are read. Keeps the first kMost and counts the rest.
class Problems {
 public:
  static constexpr std::size_t kMost = 200;

  void add(const Place& place, std::string text);
  [[nodiscard]] bool empty() const { return found_.empty(); }
  [[nodiscard]] std::size_t count() const { return found_.size() + left_out_; }
  /// Sorted by file and place; the last one says how many more there were.
  [[nodiscard]] std::vector<Problem> take(const std::vector<std::string>& files);

 private:
  struct Found {
    Place place;
    std::string text;
  };
  std::vector<Found> found_;
  std::size_t left_out_ = 0;
};

}  // namespace brimwatch
