// brimwatch page: pair a device with the page beyond this machine; list the devices; revoke one.
#include <memory>
#include <string>

#include "commands/answers/qr_picture.h"
#include "commands/command.h"
#include "commands/load.h"
#include "config/paths.h"
#include "core/text/json.h"
#include "core/text/text.h"
#include "loop/control.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct PageArguments {
  std::string socket, name, right = "look", device;
};

/// The daemon's answer; an error of its own words, or that it cannot be reached, is told and left as the exit code.
std::optional<OrderedJson> asked(const OrderedJson& request, const PageArguments& arguments, CommandContext& context) {
  const std::string socket = arguments.socket.empty() ? places().control_socket() : arguments.socket;
  const auto text = ask_daemon(socket, json_text(request));
  if (!text) return context.exit = tell(text.error(), kUnreachable), std::nullopt;
  OrderedJson answer = OrderedJson::parse(*text, nullptr, false);
  if (!answer.is_object()) {
    return context.exit = tell(Error{"the daemon's answer could not be read; is it of the same version?"}, kFailed),
           std::nullopt;
  }
  if (answer.contains("error"))
    return context.exit = tell(Error{answer["error"].get<std::string>()}, kFailed), std::nullopt;
  if (context.json) write_json(stdout, *text);
  return answer;
}

std::string text_in(const OrderedJson& json, const char* key) { return json.value(key, std::string()); }

void show_qr(const std::string& link) {
  const bool colour = colour_wanted(stdout);
  const auto lines = qr_picture(link, colour);
  if (!lines) return print_out("(no picture: %s)\n", lines.error().text.c_str());
  for (const std::string& line : *lines) {
    if (colour) set_style(stdout, Style::paper);
    print_out("%s", line.c_str());
    if (colour) set_style(stdout, Style::plain);
    print_out("\n");
  }
}

void pair_device(const PageArguments& arguments, CommandContext& context) {
  const auto answer = asked({{"ask", "pair"}, {"name", arguments.name}, {"right", arguments.right}}, arguments, context);
  if (!answer || context.json) return;
  show_qr(text_in(*answer, "link"));
  print_out("Follow this with the device's camera, or open %s/pair\nthere and type the code: %s\n",
            text_in(*answer, "address").c_str(), text_in(*answer, "code").c_str());
  print_out("It is good once, for %d minutes, and pairs \"%s\" with the right to %s.\n", answer->value("minutes", 0),
            text_in(*answer, "name").c_str(), text_in(*answer, "right").c_str());
}

void list_devices(const PageArguments& arguments, CommandContext& context) {
  const auto answer = asked({{"ask", "devices"}}, arguments, context);
  if (!answer || context.json) return;
  const OrderedJson rows = answer->value("devices", OrderedJson::array());
  if (rows.empty()) print_out("no device is paired; `brimwatch page pair` pairs one\n");
  else print_out("%-20s %-12s %-6s %-10s %-16s %s\n", "name", "id", "right", "paired", "seen (UTC)", "push");
  for (const OrderedJson& row : rows) {
    const std::string seen = text_in(row, "seen");
    print_out("%-20s %-12s %-6s %-10s %-16s %s\n", clean_line(text_in(row, "name"), 20).c_str(),
              text_in(row, "id").c_str(), text_in(row, "right").c_str(), text_in(row, "paired").substr(0, 10).c_str(),
              (seen.substr(0, 10) + " " + (seen.size() > 16 ? seen.substr(11, 5) : "")).c_str(),
              row.value("push", 0) > 0 ? "yes" : "no");
  }
}

void revoke_device(const PageArguments& arguments, CommandContext& context) {
  const auto answer = asked({{"ask", "revoke"}, {"device", arguments.device}}, arguments, context);
  if (answer && !context.json) {
    print_out("\"%s\" is revoked: it sees nothing any more, and nothing is pushed to it\n",
              text_in(*answer, "name").c_str());
  }
}

void add_socket(CLI::App& command, PageArguments& arguments) {
  command.add_option("--socket", arguments.socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
}

}  // namespace

void add_page(CLI::App& root, CommandContext& context) {
  auto arguments = std::make_shared<PageArguments>();
  CLI::App* page = root.add_subcommand("page", "Let devices see the status page from elsewhere: pair, list, revoke");
  page->require_subcommand(1);
  page->footer("The page is served beyond this machine where [page] has listen and address: see man brimwatch.toml.");
  CLI::App* pair = page->add_subcommand("pair", "Print a one-time code that pairs a device, as a picture and as text");
  add_common(*pair, context, false);
  add_socket(*pair, *arguments);
  pair->add_option("--name", arguments->name, "What the device is called (default: phone)")->type_name("NAME");
  pair->add_option("--right", arguments->right,
                   "look: it sees the page; answer: it may acknowledge, mute and change watches too")
      ->type_name("RIGHT")
      ->check(CLI::IsMember({"look", "answer"}))
      ->capture_default_str();
  pair->footer(
      "The code is valid once, for ten minutes; ten wrong tries void all codes.\n\n"
      "Example:\n  brimwatch page pair --name phone --right answer");
  pair->callback([arguments, &context] { pair_device(*arguments, context); });
  CLI::App* devices =
      page->add_subcommand("devices", "List the paired devices: name, right, when seen, whether notices are pushed");
  add_common(*devices, context, false);
  add_socket(*devices, *arguments);
  devices->callback([arguments, &context] { list_devices(*arguments, context); });
  CLI::App* revoke = page->add_subcommand("revoke", "Revoke a device's access at once");
  add_common(*revoke, context, false);
  add_socket(*revoke, *arguments);
  revoke->add_option("device", arguments->device, "Its name or id, as `brimwatch page devices` lists them")
      ->required()
      ->type_name("DEVICE");
  revoke->footer("Example:\n  brimwatch page revoke phone");
  revoke->callback([arguments, &context] { revoke_device(*arguments, context); });
}

}  // namespace brimwatch
