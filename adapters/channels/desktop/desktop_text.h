#pragma once
// A message as a desktop notification (Desktop Notifications specification 1.2): three lines - what, where, how sure -
// with urgency and sound. A fourth line only where it goes out late or again. Pure.
#include <cstdint>
#include <string>

#include "adapters/channel.h"

namespace brimwatch {

/// What the server says it can do.
struct ServerTraits {
  bool body = false, markup = false, actions = false, images = false;
  std::string name;  ///< "dunst 1.9.0"
};

enum class Urgency : std::uint8_t { low = 0, normal = 1, critical = 2 };

struct DesktopNote {
  std::string summary;  ///< one line
  std::string body;   ///< lines; with & < > escaped and some <b> where the server knows markup; empty where it shows none
  std::string sound;  ///< a name of the Sound Naming Specification; empty: none, and the server's own is not wanted
  std::string thread;  ///< notes of one thread replace each other: those of one watch (matter.h)
  Urgency urgency = Urgency::normal;
};

[[nodiscard]] DesktopNote desktop_note(const Message& message, const ServerTraits& server);

/// Critical for a heavy crossing that is inside its range and for the loss limit; low for what can wait until evening.
[[nodiscard]] Urgency urgency_of(const Message& message);

/// That of the most urgent notice in it.
[[nodiscard]] std::string sound_of(const Message& message);

}  // namespace brimwatch
