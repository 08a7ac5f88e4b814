#pragma once
// The recorder's figures as a person sees them.
#include "core/snapshot.h"
#include "tape/recorder.h"

namespace brimwatch {

inline RecordingRow recording_row(const RecorderCounters& counters) {
  RecordingRow row;
  row.on = true;
  row.ticks = counters.ticks;
  row.frames = counters.frames;
  row.dropped_ticks = counters.dropped_ticks;
  row.dropped_frames = counters.dropped_frames;
  row.bytes = counters.bytes;
  row.removed_files = counters.removed_files;
  row.errors = counters.errors;
  row.trouble = counters.last_error;
  return row;
}

}  // namespace brimwatch
