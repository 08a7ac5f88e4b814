#include "commands/check_silence.h"

#include <algorithm>

#include "commands/load.h"
#include "config/paths.h"
#include "desk/silence.h"
#include "loop/clock.h"
#include "replay/silence_facts.h"
#include "session/calendar.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

/// Today at its exchange, or the day of its next session.
std::optional<Date> day_of(const Watch& watch, const Settings& settings) {
  const auto calendar = Calendar::load(watch.calendar, settings.session.calendar_files);
  if (!calendar) return std::nullopt;
  const Timestamp now = wall_now();
  const Date today = (*calendar)->local_date(now);
  const Session* const next = (*calendar)->at_or_after(now);
  return (*calendar)->on(today) != nullptr || next == nullptr ? today : next->day;
}

}  // namespace

int explain_silence(const SilenceAsk& ask, const std::vector<std::string>& symbols, const Settings& settings, Trend trend,
                    const std::function<bool(const Watch&)>& knows_normal, bool json) {
  const std::optional<Date> asked = ask.day.empty() ? std::nullopt : parse_date(ask.day);
  if (!asked && !ask.day.empty())
    return tell(Error{"--day: found \"" + ask.day + "\", expected a day such as 2026-11-25"}, kUsage);
  SilenceSources sources;
  sources.journal = !ask.journal.empty() ? ask.journal : settings.journal.empty() ? places().journal() : settings.journal;
  sources.tapes = ask.tapes;
  sources.trend = trend;
  sources.now = wall_now();
  for (const Watch& watch : settings.watches) {
    if (std::find(symbols.begin(), symbols.end(), watch.symbol) == symbols.end()) continue;
    const auto day = asked ? asked : day_of(watch, settings);
    if (!day) continue;  // its calendar cannot be loaded, which has been told
    sources.knows_normal = knows_normal(watch);
    const auto facts = gather_silence(watch, settings, *day, sources);
    if (!facts) return tell(facts.error(), kBadInput);
    const Silence silence = silence_of(*facts);
    if (json) write_json(stdout, silence_json(silence, *facts));
    else write_text(stdout, "\n" + silence_text(silence, *facts));
  }
  return kFine;
}

}  // namespace brimwatch
