// A new configuration, or the same with newer past days: in force as a whole, or not at all.
#include <utility>

#include "live/house.h"

namespace brimwatch {
namespace {

/// A list whose watches are all over is silent, and nobody would know why. `now`: outside hours the next session counts,
/// so that a list of the weekend is not called idle.
bool none_in_force(const WatchList& watches, const Calendar& calendar, Timestamp now) {
  const Session* const session = calendar.at_or_after(now);
  const Date day = session != nullptr ? session->day : calendar.local_date(now);
  for (std::size_t i = 0; i < watches.size(); ++i) {
    const auto [from, until] = watches.days(i);
    if ((!from || *from <= day) && (!until || day <= *until)) return false;
  }
  return true;
}

}  // namespace

bool House::apply(ReadyDesk ready) {
  if (!stage_.is_up()) return false;  // it was on its way when the end began
  if (!ready.parts) return refuse(ready.problems, ready.parts.error().text), false;
  if (ready.parts->settings.watches.empty() && !desk_->settings().watches.empty())
    return refuse({}, "it names no watch, and so nothing would be watched"), false;
  const bool is_laid = ready.lists == lists_;
  auto ways = make_ways(ready.parts->settings);
  if (!ways) return refuse({}, ways.error().text), false;
  desk_->apply(std::move(*ready.parts));
  ++applied_;
  note_read(std::move(ready.warnings));
  if (today_ != Date{}) desk_->begin_day(today_);  // the market's trend of the day
  answered_.hold_stocks(today_for_answers());
  put_in_force(std::move(*ways));
  ++reloads_.reloads;
  if (!is_laid) lay_lists_again();
  tell_if_blind();
  if (none_in_force(desk_->settings().watches, desk_->main_calendar(), engine_now()))
    warn("since the reload no watch is in force; nothing will be told of any price");
  return true;
}

bool House::renew(ReadyDesk ready, std::uint64_t of) {
  if (!stage_.is_up() || !ready.parts || of != applied_) return false;
  desk_->apply(std::move(*ready.parts));
  ++applied_;  // an answer's lists that were laid out meanwhile rest on older days: they are laid out anew
  if (today_ != Date{}) desk_->begin_day(today_);
  answered_.hold_stocks(today_for_answers());  // in the terms of a split that is new
  if (today_ != Date{}) expect_symbols(false);
  return true;
}

void House::put_in_force(Ways ways) {
  const Settings& settings = desk_->settings();
  out_.set_channels(settings.channels, settings.evening, std::move(ways.out));
  keeping_.keeper().set_recipients(out_.recipients());
  feed_clock_.set_speed(speed_of(settings));
  if (speaks_ || !world_.feed_at_takeover) in_.set(settings.feeds, symbols_of(settings), std::move(ways.in));
  if (today_ != Date{}) expect_symbols(false);
}

/// What `check` says of it; a reload has no terminal to say it on.
void House::note_read(std::vector<std::string> warnings) {
  for (const std::string& warning : warnings) world_.say(LogLevel::warning, warning);
  for (const std::string& problem : desk_->problems()) world_.trouble(LogLevel::warning, problem);
  configuration_ = {world_.wall(), {}, std::move(warnings)};
}

void House::refuse(const std::vector<Problem>& problems, const std::string& why) {
  ++reloads_.reloads_refused;
  for (const Problem& problem : problems) world_.say(LogLevel::error, to_string(problem));
  const std::string count =
      problems.size() > 1 ? " (and " + std::to_string(problems.size() - 1) + " more; brimwatch check lists all)" : "";
  configuration_.read = world_.wall();
  configuration_.refused = why + count;
  tell_self_check("the new configuration was refused and the old one stays in force; " + why + count);
}

}  // namespace brimwatch
