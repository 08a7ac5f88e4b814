#include "app/inside/recording.h"

#include <utility>

#include "app/recording_row.h"

namespace brimwatch {

Result<std::unique_ptr<Recorder>> open_recorder(const Desk& desk) {
  const RecordSettings& record = desk.settings().record;
  if (record.directory.empty()) return nullptr;
  RecorderOptions options;
  options.directory = record.directory;
  options.frames = record.frames;
  options.tape = record.tape;
  options.bytes_most = record.bytes_most;
  options.day_of = [calendar = desk.main_calendar_shared()](Timestamp time) { return calendar->local_date(time); };
  return Recorder::open(std::move(options));
}

void record_into(Recorder& recorder, const SymbolTable& symbols, HouseWorld& world) {
  world.record_ticks = [&recorder, &symbols](std::span<const Tick> ticks) { recorder.ticks(ticks, symbols); };
  world.record_frame = [&recorder](std::string_view feed, Timestamp received, std::string_view bytes) {
    recorder.frame(feed, received, bytes);
  };
  world.record_connection = [&recorder](std::string_view feed, Timestamp at, bool up, std::string_view why) {
    recorder.connection(feed, at, up, why);
  };
  world.recording = [&recorder] { return recording_row(recorder.counters()); };
}

}  // namespace brimwatch
