#include "commands/journal/journal_answers.h"

#include <memory>
#include <utility>

#include "answers/message.h"
#include "commands/load.h"
#include "config/loader.h"
#include "config/paths.h"
#include "journal/journal.h"
#include "session/calendar.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

/// Of the configuration, or as it is without one.
std::shared_ptr<const Calendar> calendar_of(const CommandContext& context) {
  const Loaded loaded = load_settings(config_file(context.config));
  const auto calendar = Calendar::load(loaded.settings.session.calendar, loaded.settings.session.calendar_files);
  return calendar ? *calendar : nullptr;
}

/// Times as the exchange's clock shows them, as in all that a person reads; UTC where its calendar cannot be read.
class AnswerLines {
 public:
  explicit AnswerLines(std::shared_ptr<const Calendar> calendar) : calendar_(std::move(calendar)) {}

  [[nodiscard]] std::string line_of(const Answer& answer) const {
    std::string out = to_string(answer.day) + "  " + clock(answer.at) + "  ";
    out += std::string(to_string(answer.kind)) + " " + answer.symbol;
    if (answer.pivot.is_set()) out += " " + to_string(answer.pivot);
    if (answer.price.is_set()) out += " at " + to_string(answer.price);
    if (answer.shares > Shares{}) out += ", " + to_string(answer.shares) + " shares";
    if (answer.under_pivot) out += " until under the pivot";
    if (answer.until.is_set()) out += " until " + moment(answer.until, answer.day);
    if (!answer.notice.empty()) out += " " + answer.notice;
    return out + "  (" + answer.who + ")";
  }

 private:
  [[nodiscard]] std::chrono::seconds offset(Timestamp time) const {
    return calendar_ == nullptr ? std::chrono::seconds{0} : calendar_->offset(time);
  }
  [[nodiscard]] std::string clock(Timestamp time) const {
    return to_clock(time, offset(time)) + (calendar_ == nullptr ? " UTC" : "");
  }
  [[nodiscard]] std::string moment(Timestamp time, Date day) const {
    const bool same_day = calendar_ != nullptr && calendar_->local_date(time) == day;
    return (same_day ? "" : to_rfc3339(time, offset(time)).substr(0, 10) + " ") + clock(time);
  }

  std::shared_ptr<const Calendar> calendar_;
};

void list_answers(const std::string& path, CommandContext& context) {
  auto journal = Journal::open_read_only(path);
  if (!journal) return void(context.exit = tell(journal.error(), kBadInput));
  const auto answers = (*journal)->answers({}, {});
  if (!answers) return void(context.exit = tell(answers.error(), kBadInput));
  const AnswerLines lines(context.json ? nullptr : calendar_of(context));
  for (const Answer& answer : *answers)
    context.json ? write_json(stdout, to_json(answer, std::chrono::seconds{0}))
                 : write_text(stdout, lines.line_of(answer) + "\n");
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
