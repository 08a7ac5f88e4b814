#pragma once
// What a person saved of a source, cut into its frames: one a line, one document, server-sent events, lines with commas,
// each frame packed or not. Pure.
#include <string>
#include <string_view>
#include <vector>

#include "adapters/guessing/places.h"
#include "core/result.h"

namespace brimwatch {

struct Sample {
  std::vector<std::string> frames;  ///< byte for byte as the source sends them
  bool events = false;              ///< each is a server-sent event
};

/// Cuts the text of a file. Lines that are blank are dropped; what stands before a line's JSON, such as a clock, too.
[[nodiscard]] Sample cut_sample(std::string_view text);

/// Whether these are the first bytes of server-sent events: a field of theirs, or a comment.
[[nodiscard]] bool begins_as_events(std::string_view text);

struct ReadSample {
  std::vector<ParsedFrame> frames;
  std::vector<std::size_t> numbers;  ///< of each, its place in Sample::frames
  std::string packing = "none", encoding = "json";
  std::size_t unreadable = 0;
  std::string problem;  ///< why the first unreadable frame is one
};

/// Finds out how the frames are wrapped, and reads them.
[[nodiscard]] ReadSample read_sample(const Sample& sample);

}  // namespace brimwatch
