#include "commands/progress.h"

#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "core/shares.h"
#include "core/wording.h"
#include "loop/clock.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

constexpr std::int64_t kEvery = kSecond / 5;
constexpr double kTooEarly = 1;       // seconds in which a rate says little
constexpr double kLittleDone = 0.01;  // and a share from which it says little

/// What is left, as an estimate: the last seconds are not counted down.
std::string left_text(double seconds) {
  constexpr double kFew = 10;
  if (seconds < kFew) return "less than 10 s left";
  return span_text(std::llround(std::ceil(seconds)) * kSecond) + " left";
}

/// 120 files, 12.4M ticks.
std::string amount(double value) {
  return value < 10'000 ? std::to_string(static_cast<long long>(std::llround(value))) : brief(value);
}

}  // namespace

std::string progress_text(const Progress& progress) {
  std::string text = amount(static_cast<double>(progress.done)) + " " + std::string(progress.things);
  const bool timed = progress.seconds >= kTooEarly;
  if (timed) text += ", " + amount(static_cast<double>(progress.done) / progress.seconds) + "/s";
  if (progress.share >= 0) {
    const double share = std::min(progress.share, 1.0);
    text += ", " + std::to_string(static_cast<int>(share * 100)) + " % done";
    if (timed && share >= kLittleDone && share < 1) text += ", " + left_text(progress.seconds * (1 - share) / share);
  }
  if (!progress.at.empty()) text += ", at " + progress.at;
  return text;
}

ProgressLine::ProgressLine() : terminal_(isatty(STDERR_FILENO) != 0), started_ns_(steady_now()) {}

bool ProgressLine::due() {
  if (!terminal_) return false;
  const Nanos now = steady_now();
  if (last_ns_ != 0 && now - last_ns_ < kEvery) return false;
  last_ns_ = now;
  return true;
}

void ProgressLine::show(Progress progress) {
  if (!terminal_) return;
  progress.seconds = static_cast<double>(steady_now() - started_ns_) / 1e9;
  std::fflush(stdout);  // what was printed before stands above the line, also where both are one terminal
  clear_line(stderr);
  write_text(stderr, progress_text(progress));
  std::fflush(stderr);
  standing_ = true;
}

void ProgressLine::clear() {
  if (standing_) clear_line(stderr);
  standing_ = false;
}

}  // namespace brimwatch
