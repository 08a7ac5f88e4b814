#pragma once
// Keeps what came in: the feeds' frames, byte for byte, and the ticks that the engine took, as a tape; each rotated by
// trade day and bounded in bytes, oldest days first. Both are flushed every second, so that after a kill -9 all but the
// last second can be read.
//
// It never slows its caller: the caller fills a bounded queue and a thread of the recorder's own packs and writes. Where
// the queue is full, or the disk refuses, what comes is dropped and counted, and the recording says so in its place: a
// `hole` row, a gap between frames.
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "core/result.h"
#include "core/symbols.h"
#include "core/tick.h"

namespace brimwatch {

struct RecorderOptions {
  std::string directory;
  bool frames = true, tape = true;
  std::uint64_t bytes_most = 4ULL << 30;  ///< of all recordings in the directory
  std::chrono::milliseconds flush_every{1000};
  std::size_t ticks_most = 262'144;  ///< waiting to be written: a second at the tape's peak
  std::size_t frame_bytes_most = 32 << 20;
  /// Trade date of an instant: Calendar::local_date of the main calendar. Called on the recorder's thread.
  std::function<Date(Timestamp)> day_of;
};

/// All counts since the start.
struct RecorderCounters {
  std::uint64_t ticks = 0, frames = 0;  ///< written and flushed; that a connection came or went is no frame
  std::uint64_t dropped_ticks = 0, dropped_frames = 0;
  std::uint64_t holes = 0;  ///< places in the recordings that say so
  std::uint64_t files = 0, removed_files = 0;
  std::uint64_t bytes = 0;  ///< of all recordings in the directory, at the last look
  std::uint64_t errors = 0;
  std::string last_error;  ///< one line; empty when there was none
};

class Recorder {
 public:
  [[nodiscard]] static Result<std::unique_ptr<Recorder>> open(RecorderOptions options);
  /// Writes what waits and ends the files.
  ~Recorder();
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  // These four are called by one thread, the table's owner, and never wait for the disk.
  void ticks(std::span<const Tick> ticks, const SymbolTable& symbols);
  void frame(std::string_view feed, Timestamp received, std::string_view bytes);
  /// Into the frames too: what a replay needs to know of holes.
  void connection(std::string_view feed, Timestamp at, bool up, std::string_view why);
  [[nodiscard]] RecorderCounters counters() const;

  /// Waits until all that was handed over is written and flushed: for the end of a run, and for tests.
  void flush();

 private:
  struct Impl;
  explicit Recorder(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
