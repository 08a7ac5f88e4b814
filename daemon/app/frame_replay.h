#pragma once
// Recorded frames as ticks: the bytes as they came from each feed, through the decoder that the configuration gives that
// feed now. So a fault of a mapping can be replayed away.
#include <map>
#include <memory>
#include <span>
#include <string>

#include "adapters/feeds/decoder.h"
#include "config/settings.h"
#include "core/result.h"
#include "tape/frames.h"

namespace brimwatch {

class FrameReplay {
 public:
  static Result<std::unique_ptr<FrameReplay>> open(OpenedBytes bytes, const std::vector<FeedSettings>& feeds,
                                                   SymbolTable& symbols);

  /// Ticks of the next frame that has any, `received` as recorded; empty at the end. Valid until the next call. A gap of
  /// the recording is a hole tick.
  [[nodiscard]] Result<std::span<const Tick>> next();

  /// One line a thing that a person should know: feeds that the configuration does not have, frames that could not be
  /// read.
  [[nodiscard]] std::vector<std::string> remarks() const;
  [[nodiscard]] std::uint64_t malformed() const;
  [[nodiscard]] std::uint64_t ticks() const { return ticks_; }

 private:
  FrameReplay() = default;
  void take(const Frame& frame);

  std::unique_ptr<FrameReader> reader_;
  std::map<std::string, Decoder, std::less<>> decoders_;
  std::map<std::string, std::uint64_t, std::less<>> strangers_;  ///< frames of feeds that nobody knows
  Decoded decoded_;
  std::uint64_t ticks_ = 0;
};

}  // namespace brimwatch
