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
  std::string journal;  ///< read where no daemon answers; of those that only look
};

/// --socket and --json.
void add_answering(CLI::App& command, const std::shared_ptr<Answering>& answering, CommandContext& context);

/// For a command that only looks: --config and --journal too.
void add_looking(CLI::App& command, const std::shared_ptr<Answering>& answering, CommandContext& context);

/// Sends it and leaves the exit code: 0 it is in force and kept, 1 refused, 5 no daemon answers.
void send(const Answering& answering, CommandContext& context);

/// The snapshot of a running daemon. Where none answers that is told, with exit code 5, and it is what one would start
/// with, by configuration and journal.
[[nodiscard]] std::optional<std::string> ask_snapshot(const Answering& answering, CommandContext& context);

}  // namespace brimwatch
