#include "app/frame_replay.h"

namespace brimwatch {

Result<std::unique_ptr<FrameReplay>> FrameReplay::open(OpenedBytes bytes, const std::vector<FeedSettings>& feeds,
                                                       SymbolTable& symbols) {
  std::unique_ptr<FrameReplay> replay(new FrameReplay());
  auto reader = FrameReader::open(std::move(bytes));
  if (!reader) return fail(reader.error().text);
  replay->reader_ = std::move(*reader);
  for (const FeedSettings& feed : feeds) {
    if (feed.kind == "tape") continue;
    auto decoder = Decoder::make(feed, symbols);
    if (!decoder) return fail("feed " + feed.name + ": " + decoder.error().text);
    replay->decoders_.emplace(feed.name, std::move(*decoder));
  }
  return replay;
}

Result<std::span<const Tick>> FrameReplay::next() {
  decoded_.clear();
  while (decoded_.ticks.empty()) {
    const auto frame = reader_->next();
    if (!frame) return fail(frame.error().text);
    if (!*frame) break;
    take(**frame);
  }
  ticks_ += decoded_.ticks.size();
  return std::span<const Tick>(decoded_.ticks);
}

void FrameReplay::take(const Frame& frame) {
  if (frame.kind == Frame::Kind::gap) {
    Tick hole;
    hole.kind = TickKind::hole;
    hole.time = frame.gap_from;
    hole.received = frame.received;
    decoded_.ticks.push_back(hole);
    return;
  }
  const auto decoder = decoders_.find(frame.feed);
  if (decoder == decoders_.end()) return void(++strangers_[std::string(frame.feed)]);
  decoder->second.decode(frame.bytes, frame.received, decoded_);
}

std::uint64_t FrameReplay::malformed() const {
  std::uint64_t sum = 0;
  for (const auto& [name, decoder] : decoders_) sum += decoder.counts().malformed + decoder.counts().frames_broken;
  return sum;
}

std::vector<std::string> FrameReplay::remarks() const {
  std::vector<std::string> lines;
  for (const auto& [name, decoder] : decoders_) {
    const DecodeCounts& counts = decoder.counts();
    const std::uint64_t bad = counts.malformed + counts.frames_broken;
    if (bad > 0) {
      lines.push_back("feed " + name + ": " + std::to_string(bad) +
                      " messages could not be read and were left out; the last: " + decoder.last_problem());
    }
  }
  for (const auto& [name, count] : strangers_) {
    lines.push_back(std::to_string(count) + " frames are of a feed \"" + name +
                    "\" that the configuration does not have; they were left out");
  }
  if (reader_->torn())
    lines.push_back("the recording's writer stopped in the middle; what was written before is in the replay");
  return lines;
}

}  // namespace brimwatch
