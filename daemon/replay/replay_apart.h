#pragma once
// Several tapes as independent days, some at a time, each on a thread with a desk of its own.
#include "replay/replay.h"

namespace brimwatch {

/// What replay() says of each tape alone, tape by tape in the order of options.tapes, whatever is done first; `jobs`
/// (>= 1) at a time. The summary counts all of them. An error is that of the first tape that has one, and comes after the
/// notices of those before it. There is no journal and no pace: options.journal is empty and options.speed 0. Progress is
/// told after each tape.
Result<ReplaySummary> replay_apart(const Settings& settings, const ReplayOptions& options, std::size_t jobs,
                                   ReplayListener& listener);

}  // namespace brimwatch
