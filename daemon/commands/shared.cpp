// brimwatch shared: the machines of one house as this one sees them; and handing over.
#include <cstdio>
#include <memory>

#include "commands/command.h"
#include "commands/load.h"
#include "config/paths.h"
#include "core/text/json.h"
#include "loop/control.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

std::string text_of(const OrderedJson& row, const char* key) {
  const auto found = row.find(key);
  return found != row.end() && found->is_string() ? found->get<std::string>() : std::string();
}

void print_member(const OrderedJson& member, const std::string& own) {
  std::string more;
  const auto add = [&more](const std::string& words) { more += "; " + words; };
  if (text_of(member, "feed") == "at-takeover") add("its feed begins at a takeover");
  if (!member.value("same_list", true)) add("another watch list");
  if (!member.value("same_rules", true)) add("other rules");
  if (!member.value("well", true)) add(text_of(member, "trouble").empty() ? "not well" : text_of(member, "trouble"));
  if (!text_of(member, "answered").empty()) add("says directly: " + text_of(member, "answered"));
  if (member["clock_off"].is_number()) {
    char off[64];
    std::snprintf(off, sizeof off, "clock %+.0f s off", member["clock_off"].get<double>());
    add(off);
  }
  const std::string name = text_of(member, "name");
  print_out("%-16.32s %-10s %-12s %llu watches%s%s\n", name.c_str(),
            member.value("speaks", false) ? "speaks" : "stands by", ("v" + text_of(member, "version")).c_str(),
            static_cast<unsigned long long>(member.value("watches", std::uint64_t{0})), more.c_str(),
            name == own ? "; this machine" : "");
}

void print_shared(const OrderedJson& shared) {
  const std::string name = text_of(shared, "name"), speaker = text_of(shared, "speaker");
  print_out("house %s: %s is %s since %s\n", text_of(shared, "house").c_str(), name.c_str(),
            text_of(shared, "role").c_str(), text_of(shared, "since").c_str());
  const std::string since = text_of(shared, "speaks_since");
  print_out("%s\n", speaker.empty() ? "nobody speaks that is known of" : (speaker + " speaks since " + since).c_str());
  const std::string trouble = text_of(shared, "trouble");
  print_out("etcd: %s%sit answered %.1f s ago\n", trouble.c_str(), trouble.empty() ? "" : "; ",
            shared.value("silent_seconds", 0.0));
  if (const auto waiting = shared.value("answers_waiting", std::uint64_t{0}); waiting > 0)
    print_out("%llu answers of people here are not known to the others yet\n", static_cast<unsigned long long>(waiting));
  for (const OrderedJson& member : shared["members"]) print_member(member, name);
}

int show_members(const std::string& socket, bool json) {
  const auto answer = ask_daemon(socket, R"({"ask":"now"})");
  if (!answer) return tell(answer.error(), kUnreachable);
  const OrderedJson snapshot = OrderedJson::parse(*answer, nullptr, false);
  if (snapshot.is_discarded())
    return tell(Error{"the daemon's answer could not be read; is it of the same version?"}, kFailed);
  const auto shared = snapshot.find("shared");
  if (shared == snapshot.end() || !shared->is_object())
    return tell(Error{"this daemon stands alone: there is no [shared] in its configuration"}, kFailed);
  if (json) write_json(stdout, shared->dump() + "\n");
  else print_shared(*shared);
  return kFine;
}

int hand_over_now(const std::string& socket, bool json) {
  const auto answer = ask_daemon(socket, R"({"ask":"hand-over"})");
  if (!answer) return tell(answer.error(), kUnreachable);
  const OrderedJson said = OrderedJson::parse(*answer, nullptr, false);
  if (said.is_object() && said.contains("error")) return tell(Error{text_of(said, "error")}, kFailed);
  if (json) write_json(stdout, *answer);
  else print_out("handed over; this machine stands by, and does not ask to speak for ten seconds\n");
  return kFine;
}

}  // namespace

void add_shared(CLI::App& root, CommandContext& context) {
  auto socket = std::make_shared<std::string>();
  const auto path = [socket] { return socket->empty() ? places().control_socket() : *socket; };
  CLI::App* command =
      root.add_subcommand("shared", "Show the machines of a shared installation, or hand over to another");
  add_common(*command, context, false);
  command->add_option("--socket", *socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
  command->require_subcommand(0, 1);
  CLI::App* hand_over = command->add_subcommand(
      "hand-over", "Hand over to another machine, e.g. before a reboot; run it on the one that speaks");
  hand_over->fallthrough();
  command->footer("Who speaks is decided by etcd; see [shared] in the configuration.");
  command->callback([command, hand_over, path, &context] {
    context.exit =
        command->got_subcommand(hand_over) ? hand_over_now(path(), context.json) : show_members(path(), context.json);
  });
}

}  // namespace brimwatch
