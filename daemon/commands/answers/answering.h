#pragma once
// What the commands that answer a running daemon share: the request goes over the control socket, and what comes back is
// said in one line.
#include <memory>
#include <string>

#include "answers/request.h"
#include "commands/command.h"

namespace brimwatch {

/// A request while its command line is read.
struct Answering {
  AnswerRequest request;
  std::string socket;
};

/// --socket and --json.
void add_answering(CLI::App& command, const std::shared_ptr<Answering>& answering, CommandContext& context);

/// Sends it and leaves the exit code: 0 it is in force and kept, 1 refused, 5 no daemon answers.
void send(const Answering& answering, CommandContext& context);

/// The snapshot of a running daemon; told, and with the exit code left, where there is none.
[[nodiscard]] std::optional<std::string> ask_snapshot(const std::string& socket, CommandContext& context);

}  // namespace brimwatch
