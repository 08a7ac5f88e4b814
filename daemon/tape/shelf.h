#pragma once
// The directory of recordings: names by trade day, and a bound on their bytes. Files with other names are left alone.
//
//   tape-2026-11-25.001.csv.zst     what the engine took, as a tape
//   frames-2026-11-25.001.zst       what the feeds sent, byte for byte
// A day has several parts when the program was started anew; a part is never appended to.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/text/timestamp.h"
#include "tape/bytes.h"

namespace brimwatch {

struct Recording {
  std::string path;
  RecordingKind kind = RecordingKind::ticks;
  Date day;
  int part = 0;
  std::uint64_t bytes = 0;
};

class Shelf {
 public:
  /// Makes the directory, for its owner alone, where it is missing.
  [[nodiscard]] static Result<Shelf> open(const std::string& directory, std::uint64_t bytes_most);

  /// Ordered by day, then kind, then part: the order in which to replay.
  [[nodiscard]] std::vector<Recording> recordings() const;

  /// A name that is not taken.
  [[nodiscard]] Result<std::string> new_path(RecordingKind kind, Date day) const;

  struct Room {
    std::uint64_t bytes = 0;    ///< that are left
    std::uint64_t removed = 0;  ///< files
  };
  /// Removes the oldest days' files until the bound holds; those in `in_use` stay.
  [[nodiscard]] Room make_room(const std::vector<std::string>& in_use) const;

 private:
  Shelf(std::string directory, std::uint64_t bytes_most) : directory_(std::move(directory)), bytes_most_(bytes_most) {}
  std::string directory_;
  std::uint64_t bytes_most_;
};

}  // namespace brimwatch
