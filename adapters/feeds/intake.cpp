#include "adapters/feeds/intake.h"

#include <utility>

namespace brimwatch {
namespace {

constexpr Nanos kReportEvery = 10 * kSecond;  // a source gone mad must not fill the log

}  // namespace

Intake::Intake(const FeedSettings& settings, const FeedContext& context, Decoder decoder)
    : name_(settings.name), context_(context), decoder_(std::move(decoder)), sequences_(settings.sequence_by_symbol) {}

void Intake::take(std::string_view frame) {
  const Timestamp now = context_.wall();
  health_.bytes += frame.size();
  if (listener_ != nullptr) listener_->on_frame(now, frame);
  const std::size_t first = decoded_.ticks.size();
  decoder_.decode(frame, now, decoded_);
  if (!decoded_.sequences.empty()) mark_gaps(first);
  const std::uint64_t problems = decoder_.counts().frames_broken + decoder_.counts().malformed;
  if (problems != problems_seen_) {
    problems_seen_ = problems;
    report_problem(decoder_.last_problem());
  }
}

void Intake::mark_gaps(std::size_t first_tick) {
  for (std::size_t i = first_tick; i < decoded_.ticks.size(); ++i) {
    const Tick tick = decoded_.ticks[i];
    const auto gap = sequences_.on_message(tick.symbol, decoded_.sequences[i], tick.time);
    if (!gap.found) continue;
    ++health_.gaps;
    Tick hole;
    hole.kind = TickKind::hole;
    hole.symbol = sequences_.by_symbol() ? tick.symbol : kNoSymbol;
    hole.time = gap.since;
    hole.received = tick.time;
    decoded_.ticks.insert(decoded_.ticks.begin() + static_cast<std::ptrdiff_t>(i), hole);
    decoded_.sequences.insert(decoded_.sequences.begin() + static_cast<std::ptrdiff_t>(i), 0);
    ++i;
  }
}

void Intake::flush() {
  if (!decoded_.ticks.empty() && listener_ != nullptr) listener_->on_ticks(decoded_.ticks);
  decoded_.clear();
}

void Intake::set_state(FeedState state, std::string text) {
  health_.state = state;
  health_.text = std::move(text);
  const auto level = state == FeedState::down ? LogLevel::warning : LogLevel::info;
  context_.log(level, "feed " + name_ + ": " + health_.text);
  if (listener_ != nullptr) listener_->on_state(state, health_.text);
}

void Intake::count_malformed(const std::string& what) {
  ++malformed_outside_;
  report_problem(what);
}

void Intake::report_problem(const std::string& what) {
  const Nanos now = context_.steady();
  if (last_report_ != 0 && now - last_report_ < kReportEvery) {
    ++reports_held_;
    return;
  }
  last_report_ = now;
  std::string line = "feed " + name_ + ": " + what;
  if (reports_held_ > 0) line += " (and " + std::to_string(reports_held_) + " others since the last such line)";
  reports_held_ = 0;
  context_.log(LogLevel::warning, line);
}

FeedHealth Intake::health() const {
  const DecodeCounts& counts = decoder_.counts();
  FeedHealth out = health_;
  out.frames = counts.frames;
  out.ticks = counts.ticks;
  out.malformed = counts.frames_broken + counts.malformed + malformed_outside_;
  out.unknown = counts.unknown;
  out.unwatched = counts.unwatched;
  return out;
}

}  // namespace brimwatch
