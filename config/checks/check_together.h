#pragma once
// Checks between the sections of a configuration and its lists, once all are read. Every error is reported.
#include <string>
#include <vector>

#include "config/reading/problem.h"
#include "config/reading/zone_names.h"
#include "config/sections/key.h"
#include "config/settings.h"

namespace brimwatch {

struct ReadConfiguration {
  const Value& main;  ///< the main file as it stands
  const Settings& settings;
  const std::vector<std::string>& calendars;  ///< those that exist; empty: any name goes
  const ZoneNames& zones;
};

/// Calendars exist; a standby stands for another feed; the evening's channels exist; a past day is not watched beside
/// this one. `reading` is of the main file. Warned of: quiet hours without time zones, symbols in small letters.
void check_together(const ReadConfiguration& read, const Reading& reading, Problems& warnings);

}  // namespace brimwatch
