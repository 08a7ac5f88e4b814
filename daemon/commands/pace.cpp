// brimwatch pace: one projection by hand.
#include <cmath>
#include <cstdio>
#include <optional>
#include <string>

#include "commands/command.h"
#include "core/text/json.h"
#include "core/wording.h"
#include "desk/histories.h"
#include "loop/clock.h"
#include "session/calendar.h"
#include "terminal/terminal.h"
#include "volume/history.h"
#include "volume/learning/prior.h"

namespace brimwatch {
namespace {

struct PaceOptions {
  std::string normal, so_far, at, day, calendar = "XNYS", history;
  double needed = 40;
};

struct PaceQuestion {
  Session session;
  DayPlan plan;
  Moment moment;
  Shares so_far;
  double wanted = 0;
};

/// Minutes after midnight of "10:15"; empty when it is not a time of day.
std::optional<int> time_of_day(const std::string& text) {
  int hour = -1, minute = -1, used = 0;
  if (std::sscanf(text.c_str(), "%2d:%2d%n", &hour, &minute, &used) != 2 || used != static_cast<int>(text.size()))
    return std::nullopt;
  if (hour < 0 || hour > 23 || minute < 0 || minute > 59) return std::nullopt;
  return hour * 60 + minute;
}

/// The given day, or else today at the exchange; must be a session.
std::optional<Session> session_for(const PaceOptions& options, const Calendar& calendar, CommandContext& context) {
  const Timestamp now = wall_now();
  const auto day = options.day.empty() ? std::optional<Date>(calendar.local_date(now)) : parse_date(options.day);
  if (!day)
    return complain(context, "pace", "--day: found \"" + options.day + "\", expected a date such as 2026-11-27", kUsage);
  const Session* session = calendar.on(*day);
  if (session == nullptr && options.day.empty()) session = calendar.at_or_after(now);
  if (session == nullptr)
    return complain(context, "pace", "--day: " + to_string(*day) + " is not a session of " + calendar.mic(), kUsage);
  return *session;
}

std::optional<PaceQuestion> question_of(const PaceOptions& options, CommandContext& context) {
  const auto so_far = parse_brief_shares(options.so_far);
  if (!so_far)
    return complain(context, "pace", "--so-far: found \"" + options.so_far + "\", expected a volume such as 410k",
                    kUsage);
  const auto normal = options.normal.empty() ? std::optional<Shares>() : parse_brief_shares(options.normal);
  if (!options.normal.empty() && (!normal || normal->micros == 0)) {
    return complain(context, "pace", "--normal: found \"" + options.normal + "\", expected a volume above 0 such as 1.3M",
                    kUsage);
  }
  const auto at = time_of_day(options.at);
  if (!at)
    return complain(context, "pace",
                    "--at: found \"" + options.at + "\", expected a time of day at the exchange such as 10:15", kUsage);
  const auto calendar = Calendar::load(options.calendar, {});
  if (!calendar) return complain(context, "pace", calendar.error().text, kUsage);
  const auto session = session_for(options, **calendar, context);
  if (!session) return std::nullopt;
  std::vector<DailyBar> daily;
  if (!options.history.empty()) {
    auto bars = read_history(options.history, {});
    if (!bars) return complain(context, "pace", bars.error().text, kBadInput);
    daily = std::move(bars->bars);
    if (const std::string doubts = in_words(bars->found.doubts); !doubts.empty())
      print_error("brimwatch pace: %s: doubtful daily bars: %s\n", options.history.c_str(), doubts.c_str());
  }
  PaceQuestion question{*session, make_plan(*session, daily, nullptr, normal, **calendar), {}, *so_far, 0};
  if (question.plan.normal <= 0)
    return complain(context, "pace", "no normal volume: give --normal, or --history with full sessions before the day",
                    kUsage);
  const Timestamp open_day{session->open.ns + (*calendar)->offset(session->open).count() * kSecond};
  const Timestamp local_midnight{open_day.ns - open_day.ns % kDayNanos};
  const Timestamp now{local_midnight.ns + *at * kMinute - (*calendar)->offset(session->open).count() * kSecond};
  if (now < session->open) {
    return complain(context, "pace",
                    "--at: " + options.at + " is before the open, " +
                        to_clock(session->open, (*calendar)->offset(session->open)).substr(0, 5),
                    kUsage);
  }
  question.moment.minutes = session->elapsed(now);
  question.moment.recent_known = false;
  question.wanted = question.plan.normal * (1 + options.needed / 100);
  return question;
}

void print_json(const PaceOptions& options, const PaceQuestion& question, const Projection& p) {
  const double normal = question.plan.normal;
  OrderedJson out;
  out["day"] = to_string(question.session.day);
  out["minutes"] = question.moment.minutes;
  out["session_minutes"] = question.plan.session_minutes;
  out["half_day"] = question.plan.half_day;
  out["normal_volume"] = std::round(normal);
  out["volume"] = question.so_far.as_double();
  out["projected_volume"] = std::round(p.median);
  out["projected_low"] = std::round(p.low);
  out["projected_high"] = std::round(p.high);
  out["projected_surge"] = std::round((p.median / normal - 1) * 1000) / 10;
  out["needed_surge"] = options.needed;
  out["odds"] = std::round(p.odds * 1e4) / 1e4;
  write_json(stdout, out.dump() + "\n");
}

void print_text(const PaceOptions& options, const PaceQuestion& question, const Projection& p) {
  const double normal = question.plan.normal;
  const DayPlan& plan = question.plan;
  print_out("%s at %s, minute %.0f of %.0f%s: %s traded, normal day %s\n", to_string(question.session.day).c_str(),
            options.at.c_str(), question.moment.minutes, plan.session_minutes, plan.half_day ? " (half day)" : "",
            brief(question.so_far.as_double()).c_str(), brief(normal).c_str());
  print_out("heading for %s (%s-%s), %+.0f %% against normal; odds of +%.0f %% or more: %s\n", brief(p.median).c_str(),
            brief(p.low).c_str(), brief(p.high).c_str(), (p.median / normal - 1) * 100, options.needed,
            odds_text(p.odds, Weight::unknown).c_str());
  if (plan.half_day) print_out("A half day is judged against a normal half day.\n");
  if (question.moment.minutes >= plan.session_minutes) {
    print_out("The session is over: this is the day's volume. Information, not advice; data may be late or wrong.\n");
    return;
  }
  const double usual =
      (plan.curve != nullptr ? *plan.curve : default_curve()).at(question.moment.minutes * 390 / plan.session_minutes);
  print_out(
      "By this minute a usual day has seen %.0f %% of its volume. Four days in five like this one end between the two "
      "figures in brackets; the odds say how many end at or above the wanted volume. Information, not advice; data may "
      "be late "
      "or wrong.\n",
      usual * 100);
}

void run_pace(const PaceOptions& options, CommandContext& context) {
  const auto question = question_of(options, context);
  if (!question) return;
  const Projection projection = project(question->plan, DayVolume{question->so_far}, question->moment, question->wanted);
  context.json ? print_json(options, *question, projection) : print_text(options, *question, projection);
}

}  // namespace

void add_pace(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<PaceOptions>();
  CLI::App* pace = root.add_subcommand("pace", "Project one day's volume by hand");
  pace->add_option("--normal", options->normal, "Normal volume, the mean of the last 50 sessions, e.g. 1.3M")
      ->type_name("SHARES");
  pace->add_option("--so-far", options->so_far, "Volume traded so far, e.g. 410k")->type_name("SHARES")->required();
  pace->add_option("--at", options->at, "Time of day at the exchange, e.g. 10:15")->type_name("HH:MM")->required();
  pace->add_option("--day", options->day, "The day (default: today, or the next session); half days are known")
      ->type_name("DATE");
  pace->add_option("--calendar", options->calendar, "Exchange calendar")->type_name("MIC")->capture_default_str();
  pace->add_option("--needed", options->needed, "Needed surge over normal, percent")
      ->check(CLI::Range(-99.0, 10'000.0))
      ->capture_default_str();
  pace->add_option("--history", options->history, "Daily history (CSV: date,volume,...), for the level of the last days")
      ->type_name("FILE");
  add_common(*pace, context, false, About::itself);
  pace->footer("Example: brimwatch pace --normal 1.3M --so-far 410k --at 10:15");
  pace->callback([options, &context] { run_pace(*options, context); });
}

}  // namespace brimwatch
