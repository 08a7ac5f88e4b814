#include "commands/answers/answering.h"

#include "answers/message.h"
#include "commands/answers/without_daemon.h"
#include "commands/load.h"
#include "config/paths.h"
#include "core/text/json.h"
#include "files/text_file.h"
#include "loop/control.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

std::string socket_of(const std::string& given) { return given.empty() ? places().control_socket() : given; }

}  // namespace

void add_answering(CLI::App& command, const std::shared_ptr<Answering>& answering, CommandContext& context) {
  add_common(command, context, false);
  command.add_option("--socket", answering->socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
}

void add_looking(CLI::App& command, const std::shared_ptr<Answering>& answering, CommandContext& context) {
  add_common(command, context);
  command.add_option("--socket", answering->socket, "Control socket (default: the place XDG gives)")->type_name("PATH");
  command.add_option("--journal", answering->journal, "Journal, where no daemon answers (default: the daemon's)")
      ->type_name("FILE");
}

void send(const Answering& answering, CommandContext& context) {
  const auto answer = ask_daemon(socket_of(answering.socket), to_json(answering.request));
  if (!answer) return void(context.exit = tell(answer.error(), kUnreachable));
  const auto json = Json::parse(*answer, nullptr, false);
  if (!json.is_object())
    return void(context.exit = tell(Error{"the daemon's answer could not be read; is it of the same version?"}, kFailed));
  if (json.contains("error")) {
    context.exit = tell(Error{json.value("error", "")}, kFailed);
    if (context.json) write_json(stdout, *answer);
    return;
  }
  if (context.json) return void(write_json(stdout, *answer));
  write_text(stdout, json.value("done", "") + "\n");
}

std::optional<std::string> ask_snapshot(const Answering& answering, CommandContext& context) {
  auto answer = ask_daemon(socket_of(answering.socket), R"({"ask":"now"})");
  if (answer) return std::move(*answer);
  context.exit = tell(answer.error(), kUnreachable);
  auto kept = is_there(config_file(context.config)) ? snapshot_without_daemon(answering.journal, context) : std::nullopt;
  context.exit = kUnreachable;
  if (kept) print_error("What it would start with, by the configuration and the journal:\n");
  return kept;
}

}  // namespace brimwatch
