#include "adapters/feeds/intake.h"

#include <algorithm>
#include <utility>

namespace brimwatch {
namespace {

constexpr Nanos kReportEvery = 10 * kSecond;  // a source gone mad must not fill the log
constexpr std::uint64_t kUnknownToldAt = 10;  // trades with a condition that nobody mapped: one may be a rarity
constexpr std::uint64_t kUnreadableToldAt = 3;

}  // namespace

Intake::Intake(const FeedSettings& settings, const FeedContext& context, Decoder decoder)
    : name_(settings.name),
      longest_(settings.frame_bytes_most),
      context_(context),
      decoder_(std::move(decoder)),
      holes_(settings.sequence_by_symbol),
      rehearsal_(settings.rehearsal) {}

Timestamp Intake::receipt() const { return rehearsal_.started() ? rehearsal_.at(context_.steady()) : context_.wall(); }

/// The newest of the first ticks is as fresh as data can be.
void Intake::start_rehearsal(std::size_t first_tick) {
  const auto first = decoded_.ticks.begin() + static_cast<std::ptrdiff_t>(first_tick);
  const auto newest =
      std::max_element(first, decoded_.ticks.end(), [](const Tick& a, const Tick& b) { return a.time < b.time; });
  if (newest == decoded_.ticks.end()) return;
  const Timestamp now = newest->time;
  rehearsal_.start(now, context_.steady());
  for (auto tick = first; tick != decoded_.ticks.end(); ++tick) tick->received = now;
}

void Intake::take(std::string_view frame) {
  Timestamp now = receipt();
  health_.bytes += frame.size();
  const std::size_t first = decoded_.ticks.size();
  decoder_.decode(frame, now, decoded_);
  if (rehearsal_.is_on() && !rehearsal_.started()) {
    start_rehearsal(first);
    now = receipt();
  }
  if (listener_ != nullptr) listener_->on_frame(now, frame);
  health_.gaps += holes_.mark(decoded_, first);
  look_for_problems();
}

void Intake::look_for_problems() {
  const DecodeCounts& counts = decoder_.counts();
  const std::uint64_t problems = counts.frames_broken + counts.malformed;
  if (problems != problems_seen_) {
    problems_seen_ = problems;
    report_problem(decoder_.last_problem());
    if (listener_ != nullptr) listener_->on_unreadable(decoder_.last_problem());
  }
  if (!codes_told_ && decoder_.unknown_codes().trades_with() >= kUnknownToldAt) {
    codes_told_ = true;
    remark(decoder_.unknown_codes().advice());
  }
  if (!flags_told_ && decoder_.unknown_codes().flags() >= kUnknownToldAt) {
    flags_told_ = true;
    remark(decoder_.unknown_codes().flag_advice());
  }
  if (!unreadable_told_ && problems >= kUnreadableToldAt && counts.ticks == 0) {
    unreadable_told_ = true;
    remark("nothing that it sends can be read so far: " + decoder_.last_problem());
  }
}

void Intake::remark(const std::string& what) {
  if (listener_ != nullptr) listener_->on_remark(what);
}

void Intake::note_refusal(const std::string& text) {
  context_.log(LogLevel::warning, "feed " + name_ + ": the source said: " + text, {.feed = name_});
  if (listener_ != nullptr) listener_->on_refusal(text);
}

void Intake::flush() {
  if (!decoded_.ticks.empty() && listener_ != nullptr) listener_->on_ticks(decoded_.ticks);
  decoded_.clear();
}

void Intake::set_state(FeedState state, std::string text) {
  if (state == FeedState::up && health_.state != FeedState::up && std::exchange(was_up_, true)) ++health_.reconnects;
  health_.state = state;
  health_.text = std::move(text);
  const auto level = state == FeedState::down ? LogLevel::warning : LogLevel::info;
  context_.log(level, "feed " + name_ + ": " + health_.text, {.feed = name_});
  if (listener_ != nullptr) listener_->on_state(state, health_.text);
}

void Intake::lose(const std::string& what) {
  ++malformed_outside_;
  holes_.note_lost();
  const std::string problem =
      what + " of more than " + std::to_string(longest_) + " bytes, not used; frame_kib says how long one may be";
  report_problem(problem);
  if (listener_ != nullptr) listener_->on_unreadable(problem);
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
  context_.log(LogLevel::warning, line, {.feed = name_});
}

FeedHealth Intake::health() const {
  const DecodeCounts& counts = decoder_.counts();
  FeedHealth out = health_;
  out.frames = counts.frames;
  out.ticks = counts.ticks;
  out.malformed = counts.frames_broken + counts.malformed + malformed_outside_;
  out.unknown = counts.unknown;
  out.unwatched = counts.unwatched;
  out.example = decoder_.last_problem();
  for (const UnknownCodes::Row& row : decoder_.unknown_codes().rows())
    out.unknown_codes.emplace_back(row.code, row.count);
  return out;
}

}  // namespace brimwatch
