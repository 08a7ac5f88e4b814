#pragma once
// A feed that begins in mid-session has missed what traded before: without being told so, the engine would take the
// little that it saw for all there was. Pure.
#include <optional>

#include "core/tick.h"
#include "session/calendar.h"

namespace brimwatch {

constexpr Nanos kLateStart = kMinute;  ///< a quiet list may be silent so long after the open

/// The hole from `from` to the first tick; nothing where there is no session, or where it is shorter than `least`.
inline std::optional<Tick> hole_before(const Tick& first, Timestamp from, Nanos least) {
  if (first.time - from <= least) return std::nullopt;
  Tick hole;
  hole.kind = TickKind::hole;
  hole.time = from;
  hole.received = first.time;
  return hole;
}

/// What was missed by whoever began after the open and hears `first` first.
inline std::optional<Tick> missed_since_open(const Tick& first, const Calendar& calendar) {
  const Session* session = calendar.of(first.time);
  return session == nullptr ? std::nullopt : hole_before(first, session->open, kLateStart);
}

}  // namespace brimwatch
