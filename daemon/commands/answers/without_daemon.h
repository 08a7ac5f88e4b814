#pragma once
// What a command knows of answers while no daemon runs: the journal's rows, as a daemon would find them at its start.
#include <optional>
#include <string>
#include <vector>

#include "answers/book.h"
#include "commands/command.h"
#include "config/settings.h"

namespace brimwatch {

/// `given` on the command line, else the configuration's, else the place XDG gives.
[[nodiscard]] std::string journal_of(const Settings& settings, const std::string& given);

/// All answers of the journal; none where there is no journal. One that cannot be read is a warning on standard error.
[[nodiscard]] AnswerBook answers_in(const std::string& journal);

/// Puts into the settings what was added and dropped, and says so in one line on standard error where anything was.
void lay_answers(Settings& settings, const std::string& journal);

/// Of `lay_answers`: "by answers: 2 watches added, 1 dropped (KLVN 48.35), 1 stock held; from JOURNAL". Empty: nothing.
[[nodiscard]] std::string answers_in_words(const AnswerBook& book, const std::string& journal);

/// What a list that is new would not say: watches of it that were dropped and stay so, and others of its stocks that were
/// added. A line each.
[[nodiscard]] std::vector<std::string> beside_list(const AnswerBook& book, const std::vector<WatchKey>& listed);

/// The snapshot of a daemon that starts now, hears nothing, and is asked: as JSON. Told, and with the exit code left,
/// where the configuration cannot be used.
[[nodiscard]] std::optional<std::string> snapshot_without_daemon(const std::string& journal, CommandContext& context);

}  // namespace brimwatch
