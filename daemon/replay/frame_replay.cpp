#include "replay/frame_replay.h"

#include <algorithm>
#include <utility>

#include "adapters/feeds/connections/poll.h"

namespace brimwatch {

Result<std::unique_ptr<FrameReplay>> FrameReplay::open(OpenedBytes bytes, const std::vector<FeedSettings>& feeds,
                                                       SymbolTable& symbols, std::function<bool(Timestamp)> in_session,
                                                       const PastDayOf& past_day) {
  std::unique_ptr<FrameReplay> replay(new FrameReplay());
  auto reader = FrameReader::open(std::move(bytes));
  if (!reader) return fail(reader.error().text);
  replay->reader_ = std::move(*reader);
  replay->in_session_ = std::move(in_session);
  std::vector<FeedSettings> in_force;
  for (const FeedSettings& feed : feeds) {
    if (feed.kind == "tape") continue;
    auto decoder = Decoder::make(with_usual_kind(feed), symbols);
    if (!decoder) return fail("feed " + feed.name + ": " + decoder.error().text);
    replay->lines_.push_back(
        {feed.name, in_force.size(), std::move(*decoder), HoleMarker(feed.sequence_by_symbol), false});
    in_force.push_back(feed);
  }
  replay->merge_ = std::make_unique<FeedMerge>(in_force, past_day);
  return replay;
}

Result<std::span<const Tick>> FrameReplay::next() {
  merged_.ticks.clear();
  merged_.events.clear();
  while (merged_.ticks.empty()) {
    const auto frame = reader_->next();
    if (!frame) return fail(frame.error().text);
    if (!*frame) break;
    take(**frame);
  }
  ticks_ += merged_.ticks.size();
  return std::span<const Tick>(merged_.ticks);
}

FrameReplay::Line* FrameReplay::line_of(std::string_view feed) {
  for (Line& line : lines_) {
    if (line.name == feed) return &line;
  }
  return nullptr;
}

void FrameReplay::take(const Frame& frame) {
  if (frame.kind == Frame::Kind::gap) {
    Tick hole;
    hole.kind = TickKind::hole;
    hole.time = frame.gap_from;
    hole.received = frame.received;
    merged_.ticks.push_back(hole);
    return;
  }
  Line* const line = line_of(frame.feed);
  if (line == nullptr) return void(++strangers_[std::string(frame.feed)]);
  pass_time(frame.received);
  frame.kind == Frame::Kind::connection ? take_connection(*line, frame) : take_bytes(*line, frame);
}

void FrameReplay::take_connection(Line& line, const Frame& frame) {
  if (frame.up && !line.up) line.holes.restart_numbers();
  line.up = frame.up;
  merge_->on_state(line.index, frame.up ? FeedState::up : FeedState::down, frame.bytes, {now_, steady_}, merged_);
}

void FrameReplay::take_bytes(Line& line, const Frame& frame) {
  const Instant now{now_, steady_};
  decoded_.clear();
  line.decoder.decode(frame.bytes, frame.received, decoded_);
  (void)line.holes.mark(decoded_, 0);
  merge_->on_life(line.index, now);
  if (decoded_.ticks.empty()) return;
  // A recording of the first version does not say when the feed was up.
  if (!std::exchange(line.up, true)) merge_->on_state(line.index, FeedState::up, "", now, merged_);
  newest_ = std::max(newest_, decoded_.ticks.back().time);
  newest_at_ = now_;
  merge_->on_ticks(line.index, decoded_.ticks, now, merged_);
}

/// The beats between two frames, at which a silent feed is noticed. Of a night without a frame only the first minutes:
/// who is silent then is known. Where the times of receipt go back (our clock was set, or a played day began) no time has
/// passed.
void FrameReplay::pass_time(Timestamp until) {
  constexpr Nanos kBeat = kSecond / 4, kMost = 30 * kMinute;
  const Nanos span = now_.is_set() ? std::max<Nanos>(until - now_, 0) : 0;
  for (Nanos beat = kBeat; beat < std::min(span, kMost); beat += kBeat) {
    const Timestamp at = now_ + beat;
    const bool open = newest_.is_set() && in_session_(newest_ + (at - newest_at_));
    merge_->on_time({at, steady_ + beat}, open, merged_);
  }
  steady_ += span;
  now_ = until;
}

std::uint64_t FrameReplay::malformed() const {
  std::uint64_t sum = 0;
  for (const Line& line : lines_) sum += line.decoder.counts().malformed + line.decoder.counts().frames_broken;
  return sum;
}

std::vector<std::string> FrameReplay::remarks() const {
  std::vector<std::string> lines;
  for (const Line& line : lines_) {
    const DecodeCounts& counts = line.decoder.counts();
    const std::uint64_t bad = counts.malformed + counts.frames_broken;
    if (bad > 0) {
      lines.push_back("feed " + line.name + ": " + std::to_string(bad) +
                      " messages could not be read and were left out; the last: " + line.decoder.last_problem());
    }
  }
  for (const Line& line : lines_) {
    const std::uint64_t past = merge_->counts(line.index).past_days;
    if (past > 0)
      lines.push_back("feed " + line.name + ": " + std::to_string(past) + (past == 1 ? " tick was" : " ticks were") +
                      " of a day that was over on receipt, and left out as live (past_days)");
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
