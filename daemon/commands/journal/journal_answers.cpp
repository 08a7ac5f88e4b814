#include "commands/journal/journal_answers.h"

#include "answers/message.h"
#include "commands/load.h"
#include "journal/journal.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

std::string line_of(const Answer& answer) {
  std::string out = to_string(answer.day) + "  " + to_clock(answer.at, std::chrono::seconds{0}) + " UTC  ";
  out += std::string(to_string(answer.kind)) + " " + answer.symbol;
  if (answer.pivot.is_set()) out += " " + to_string(answer.pivot);
  if (answer.price.is_set()) out += " at " + to_string(answer.price);
  if (answer.shares > Shares{}) out += ", " + to_string(answer.shares) + " shares";
  if (answer.under_pivot) out += " until under the pivot";
  if (answer.until.is_set()) out += " until " + to_rfc3339(answer.until);
  if (!answer.notice.empty()) out += " " + answer.notice;
  return out + "  (" + answer.who + ")";
}

void list_answers(const std::string& path, CommandContext& context) {
  auto journal = Journal::open_read_only(path);
  if (!journal) return void(context.exit = tell(journal.error(), kBadInput));
  const auto answers = (*journal)->answers({}, {});
  if (!answers) return void(context.exit = tell(answers.error(), kBadInput));
  for (const Answer& answer : *answers)
    context.json ? write_json(stdout, to_json(answer, std::chrono::seconds{0}))
                 : write_text(stdout, line_of(answer) + "\n");
  if (answers->empty() && !context.json) write_text(stderr, "Nothing was answered.\n");
  if (const std::string losses = (*journal)->losses(); !losses.empty()) context.exit = tell(Error{losses}, kBadInput);
}

}  // namespace

void add_journal_answers(CLI::App& journal, const std::function<std::string()>& path, CommandContext& context) {
  CLI::App* const answers = journal.add_subcommand("answers", "List answers: who, when, what");
  answers->fallthrough();
  answers->callback([path, &context] { list_answers(path(), context); });
}

}  // namespace brimwatch
