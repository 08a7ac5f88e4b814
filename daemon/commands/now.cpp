// brimwatch now: the watches of a running daemon.
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>
#include <thread>
#include <vector>

#include "commands/command.h"
#include "commands/load.h"
#include "config/paths.h"
#include "core/shares.h"
#include "core/wording.h"
#include "loop/control.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

using Json = nlohmann::ordered_json;

/// Today is between its first and its last day.
bool in_force(const Json& watch) { return watch.value("in_force", true); }

/// Soonest to matter first: inside the range, then by the distance to the pivot.
void sort_by_need(std::vector<Json>& watches) {
  const auto rank = [](const Json& watch) {
    if (!in_force(watch)) return std::pair(2, 0.0);
    const double distance = watch["distance"].is_null() ? 1e9 : std::abs(watch["distance"].get<double>());
    return std::pair(watch["side"] == "inside" ? 0 : 1, distance);
  };
  std::stable_sort(watches.begin(), watches.end(), [&](const Json& a, const Json& b) { return rank(a) < rank(b); });
}

std::string cell(const Json& value, const char* form) {
  if (value.is_null()) return "-";
  char text[48];
  std::snprintf(text, sizeof text, form, value.get<double>());
  return text;
}

std::string odds_cell(const Json& odds, const std::string& weight) {
  return odds.is_null() ? "-" : odds_text(odds.get<double>(), weight_of(weight).value_or(Weight::unknown));
}

/// Of a watch that is not in force: when it is, or was. RFC 3339 dates compare as text.
std::string days_in_force(const Json& watch, const std::string& today) {
  const Json from = watch.value("from", Json()), until = watch.value("until", Json());
  if (from.is_string() && from.get<std::string>() > today) return ", but from " + from.get<std::string>() + " on";
  if (until.is_string()) return ", it was until " + until.get<std::string>();
  return "";
}

void print_idle_row(const Json& watch, const std::string& today, bool colour) {
  if (colour) set_style(stdout, Style::dim);
  print_out("%-8.8s %9s %9s %8s not in force today%s\n", watch["symbol"].get<std::string>().c_str(), "-",
            cell(watch["pivot"], "%.2f").c_str(), "-", days_in_force(watch, today).c_str());
  if (colour) set_style(stdout, Style::plain);
}

/// Nothing has come of it today: that is not a light day.
bool is_unheard(const Json& watch) { return watch["last"].is_null() && watch["volume"]["so_far"].get<double>() == 0; }

void print_row(const Json& watch, bool colour) {
  const Json& volume = watch["volume"];
  const std::string weight = is_unheard(watch) ? "not heard" : volume["weight"].get<std::string>();
  const bool styled = colour && (weight == "heavy" || weight == "light");
  if (styled) set_style(stdout, weight == "heavy" ? Style::bold : Style::dim);
  print_out("%-8.8s %9s %9s %8s %-7s %7s %7s %5s %-10s\n", watch["symbol"].get<std::string>().c_str(),
            cell(watch["last"], "%.2f").c_str(), cell(watch["pivot"], "%.2f").c_str(),
            cell(watch["distance"], "%+.2f %%").c_str(), watch["side"].get<std::string>().c_str(),
            brief(volume["so_far"].get<double>()).c_str(),
            is_unheard(watch) ? "-" : cell(volume["surge"], "%+.0f %%").c_str(),
            is_unheard(watch) ? "-" : odds_cell(volume["odds"], weight).c_str(), weight.c_str());
  if (styled) set_style(stdout, Style::plain);
}

void print_recording(const Json& recording) {
  if (recording.is_null()) return;
  const auto count = [&](const char* key) { return recording[key].get<std::uint64_t>(); };
  print_out("recording: %s ticks and %s frames kept, %.1f MiB on disk",
            brief(static_cast<double>(count("ticks"))).c_str(), brief(static_cast<double>(count("frames"))).c_str(),
            static_cast<double>(count("bytes")) / 1048576);
  if (count("dropped_ticks") + count("dropped_frames") > 0)
    print_out("; lost %llu ticks and %llu frames", static_cast<unsigned long long>(count("dropped_ticks")),
              static_cast<unsigned long long>(count("dropped_frames")));
  print_out("\n");
  if (const std::string trouble = recording["trouble"]; !trouble.empty()) print_out("recording: %s\n", trouble.c_str());
}

/// One line a feed, and one for each thing about it that somebody has to look at.
void print_feed(const Json& feed) {
  const std::string text = feed["text"];
  print_out("feed %s: %s%s%s\n", feed["name"].get<std::string>().c_str(), feed["state"].get<std::string>().c_str(),
            text.empty() ? "" : ", ", text.c_str());
  if (const auto malformed = feed.value("malformed", std::uint64_t{0}); malformed > 0)
    print_out("  %llu message%s could not be read; the last: %s\n", static_cast<unsigned long long>(malformed),
              malformed == 1 ? "" : "s", feed.value("example", "").c_str());
  const Json codes = feed.value("unknown_codes", Json::object());
  if (codes.empty()) return;
  print_out("  sale conditions that are not mapped (such trades move no price; see condition_words):");
  for (const auto& [code, count] : codes.items())
    print_out(" \"%s\" %llu times", code.c_str(), static_cast<unsigned long long>(count.get<std::uint64_t>()));
  print_out("\n");
}

/// Of one of several machines.
void print_voice(const Json& shared) {
  if (!shared.is_object()) return;
  const std::string speaker = shared.value("speaker", ""), name = shared.value("name", ""),
                    role = shared.value("role", "");
  std::string others;
  for (const Json& member : shared["members"])
    if (!member.value("speaks", false)) others += (others.empty() ? "" : ", ") + member.value("name", "");
  if (role == "alone") print_out("%s speaks alone: etcd does not answer; notices may come twice\n", name.c_str());
  else if (speaker.empty())
    print_out("nobody speaks that is known of; this machine, %s, is %s\n", name.c_str(), role.c_str());
  else
    print_out("%s speaks%s%s\n", speaker.c_str(),
              others.empty() ? "; nobody stands by" : "; standing by: ", others.c_str());
}

void print_table(const Json& snapshot, bool colour) {
  if (snapshot.value("rehearsal", false)) print_out("REHEARSAL: a past day is played; nothing of this happens now\n");
  print_out("%s  %s, session %s, market %s\n", snapshot["day"].get<std::string>().c_str(),
            snapshot["time"].get<std::string>().substr(11, 8).c_str(), snapshot["session"].get<std::string>().c_str(),
            snapshot["trend"].get<std::string>().c_str());
  for (const Json& feed : snapshot["feeds"]) print_feed(feed);
  print_voice(snapshot.value("shared", Json()));
  print_recording(snapshot.value("recording", Json()));
  if (const std::string trouble = snapshot["journal_trouble"]; !trouble.empty())
    print_out("journal: %s\n", trouble.c_str());
  print_out("\n%-8s %9s %9s %8s %-7s %7s %7s %5s %-10s\n", "symbol", "last", "pivot", "to pivot", "side", "volume",
            "surge", "odds", "weight");
  std::vector<Json> watches(snapshot["watches"].begin(), snapshot["watches"].end());
  sort_by_need(watches);
  const std::string today = snapshot["day"];
  for (const Json& watch : watches) in_force(watch) ? print_row(watch, colour) : print_idle_row(watch, today, colour);
  const auto idle = std::count_if(watches.begin(), watches.end(), [](const Json& watch) { return !in_force(watch); });
  if (idle > 0)
    print_out("\n%zu watch%s, %zu in force today\n", watches.size(), watches.size() == 1 ? "" : "es",
              watches.size() - static_cast<std::size_t>(idle));
  if (watches.empty())
    print_out("no watches; add some to a watch list and reload (kill -HUP, or systemctl --user reload brimwatch)\n");
}

int show_once(const std::string& socket, bool json, bool clear) {
  const auto answer = ask_daemon(socket, R"({"ask":"now"})");
  if (!answer) return tell(answer.error(), kUnreachable);
  if (json) {
    write_json(stdout, *answer);
    return kFine;
  }
  const Json snapshot = Json::parse(*answer, nullptr, false);
  if (snapshot.is_discarded())
    return tell(Error{"the daemon's answer could not be read; is it of the same version?"}, kFailed);
  if (clear) clear_screen(stdout);
  print_table(snapshot, colour_wanted(stdout));
  std::fflush(stdout);
  return kFine;
}

}  // namespace

void add_now(CLI::App& root, CommandContext& context) {
  struct Arguments {
    std::string socket;
    bool follow = false;
  };
  auto arguments = std::make_shared<Arguments>();
  CLI::App* command =
      root.add_subcommand("now", "Show the watches of the running daemon: side, price, projected surge, odds");
  add_common(*command, context, false);
  command->add_option("--socket", arguments->socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
  command->add_flag("-f,--follow", arguments->follow, "Keep it up to date, every two seconds");
  command->footer("Sorted by how soon a watch matters: inside the buy range first, then by distance to the pivot.");
  command->callback([arguments, &context] {
    const std::string socket = arguments->socket.empty() ? places().control_socket() : arguments->socket;
    const bool clear = arguments->follow && !context.json && isatty(STDOUT_FILENO) != 0;
    do {
      context.exit = show_once(socket, context.json, clear);
      if (arguments->follow && context.exit == kFine) std::this_thread::sleep_for(std::chrono::seconds(2));
    } while (arguments->follow && context.exit == kFine);
  });
}

}  // namespace brimwatch
