#pragma once
// Recorded frames as ticks: the bytes as they came from each feed, through the decoder that the configuration gives that
// feed now, and then the way that live ticks go: the source's numbering, screening, holes, failover between feeds. So a
// fault of a mapping can be replayed away.
//
// Time is that of the recording. A feed's silence is looked for at the frames and between them, as live at the beats; a
// recording of a rehearsal at another speed than 1 has more silence in it than there was.
#include <functional>
#include <map>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/hole_marker.h"
#include "adapters/feeds/merge.h"
#include "config/settings.h"
#include "core/result.h"
#include "tape/frames.h"

namespace brimwatch {

class FrameReplay {
 public:
  /// `in_session`: whether the exchange trades at that instant. `past_day`: of a frame, at its receipt; as live.
  static Result<std::unique_ptr<FrameReplay>> open(OpenedBytes bytes, const std::vector<FeedSettings>& feeds,
                                                   SymbolTable& symbols, std::function<bool(Timestamp)> in_session,
                                                   const PastDayOf& past_day = {});

  /// Ticks of the next frame that has any, `received` as recorded; empty at the end. Valid until the next call. A gap of
  /// the recording is a hole tick, as is a time in which the connection was gone.
  [[nodiscard]] Result<std::span<const Tick>> next();

  /// One line a thing that a person should know: feeds that the configuration does not have, frames that could not be
  /// read.
  [[nodiscard]] std::vector<std::string> remarks() const;
  [[nodiscard]] std::uint64_t malformed() const;
  [[nodiscard]] std::uint64_t ticks() const { return ticks_; }

 private:
  struct Line {
    std::string name;
    std::size_t index = 0;
    Decoder decoder;
    HoleMarker holes;
    bool up = false;
  };

  FrameReplay() = default;
  void take(const Frame& frame);
  void take_connection(Line& line, const Frame& frame);
  void take_bytes(Line& line, const Frame& frame);
  void pass_time(Timestamp until);
  [[nodiscard]] Line* line_of(std::string_view feed);

  std::unique_ptr<FrameReader> reader_;
  std::function<bool(Timestamp)> in_session_;
  std::vector<Line> lines_;
  std::unique_ptr<FeedMerge> merge_;
  std::map<std::string, std::uint64_t, std::less<>> strangers_;  ///< frames of feeds that nobody knows
  Decoded decoded_;
  Merged merged_;
  Timestamp now_;         ///< of the recording
  Nanos steady_ = kHour;  ///< goes on with it, and never back
  Timestamp newest_;      ///< tick, and when it came: the exchange's time goes on from there
  Timestamp newest_at_;
  std::uint64_t ticks_ = 0;
};

}  // namespace brimwatch
