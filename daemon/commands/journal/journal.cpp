// brimwatch journal: what was told, and what became of it.
#include "journal/journal.h"

#include <charconv>
#include <cstdio>
#include <memory>

#include "commands/command.h"
#include "commands/journal/journal_answers.h"
#include "commands/journal/journal_export.h"
#include "commands/journal/journal_upkeep.h"
#include "config/loader.h"
#include "config/paths.h"
#include "core/text/json.h"
#include "core/text/notice_json.h"
#include "journal/print.h"
#include "loop/clock.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct JournalAsk {
  std::string journal, day, from, to, symbol;
  std::vector<std::string> kinds, ids;
  int last = 0;
  bool deliveries = false;
};

/// As given, or as configured, or where XDG says. A configuration with mistakes still names its journal.
std::string journal_path(const JournalAsk& ask, const CommandContext& context) {
  if (!ask.journal.empty()) return ask.journal;
  const Loaded loaded = load_settings(config_file(context.config));
  return loaded.settings.journal.empty() ? places().journal() : loaded.settings.journal;
}

bool read_date(const char* option, const std::string& text, std::optional<Date>& date, CommandContext& context) {
  if (text.empty()) return true;
  date = parse_date(text);
  if (!date) {
    complain(context, "journal", std::string(option) + ": found \"" + text + "\", expected a date such as 2026-11-25",
             kUsage);
  }
  return date.has_value();
}

std::string all_kinds() {
  std::string words;
  for (int i = 0; i < kNoticeKinds; ++i) words.append(i == 0 ? "" : ", ").append(to_string(static_cast<NoticeKind>(i)));
  return words;
}

std::optional<NoticeQuery> query_of(const JournalAsk& ask, CommandContext& context) {
  NoticeQuery query{.symbol = ask.symbol, .limit = ask.last};
  if (!read_date("--day", ask.day, query.day, context) || !read_date("--from", ask.from, query.from, context) ||
      !read_date("--to", ask.to, query.to, context)) {
    return std::nullopt;
  }
  if (query.from && query.to && *query.from > *query.to) {
    complain(context, "journal", "--from is after --to", kUsage);
    return std::nullopt;
  }
  for (const std::string& word : ask.kinds) {
    const auto kind = notice_kind_of(word);
    if (!kind) {
      complain(context, "journal", "--kind: found \"" + word + "\", expected one of " + all_kinds(), kUsage);
      return std::nullopt;
    }
    query.kinds.push_back(*kind);
  }
  return query;
}

/// The library's own check prints a bound of three hundred digits.
std::string count_problem(const std::string& text) {
  constexpr int kMost = 1'000'000'000;
  int count = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), count);
  const bool good = problem == std::errc() && end == text.data() + text.size() && count >= 1 && count <= kMost;
  return good ? "" : "found \"" + text + "\", expected a number from 1 to " + std::to_string(kMost);
}

class NoticePrinter {
 public:
  NoticePrinter(Journal& journal, const JournalAsk& ask, bool json) : journal_(journal), ask_(ask), json_(json) {}

  /// False when the deliveries cannot be read.
  bool print(const NoticeRecord& record) {
    if (json_) {
      write_json(stdout, to_json(record) + "\n");
    } else {
      if (count_ == 0 || record.notice.day != day_) head(record.notice.day);
      if (!ask_.deliveries && !print_speaker(record)) return false;
      write_text(stdout, table_row(record) + "\n");
    }
    ++count_;
    return !ask_.deliveries || print_deliveries(record);
  }
  [[nodiscard]] std::size_t count() const { return count_; }

 private:
  void head(Date day) {
    print_out("%s%s\n", count_ == 0 ? "" : "\n", table_head(day).c_str());
    day_ = day;
  }

  /// Of several machines, which said it: once for all that it said in a row.
  bool print_speaker(const NoticeRecord& record) {
    const auto speaker = journal_.speaker(record.id);
    if (!speaker) return false;
    if (!speaker->empty() && *speaker != speaker_) print_out("said by %s:\n", speaker->c_str());
    speaker_ = *speaker;
    return true;
  }

  bool print_deliveries(const NoticeRecord& record) {
    const auto rows = journal_.deliveries(record.id);
    const auto acknowledged = journal_.acknowledged(record.id);
    const auto speaker = journal_.speaker(record.id);
    if (!rows || !acknowledged || !speaker) return false;
    const std::string by = speaker->empty() ? "" : ", said by " + *speaker;
    if (!json_) print_out("%10s%s%s%s\n", "", record.id.c_str(), by.c_str(), *acknowledged ? " (acknowledged)" : "");
    if (json_ && !speaker->empty()) write_json(stdout, speaker_json(record.id, *speaker) + "\n");
    for (const DeliveryRow& row : *rows) {
      if (json_) write_json(stdout, to_json(row, record.offset) + "\n");
      else write_text(stdout, delivery_line(row, record.offset) + "\n");
    }
    return true;
  }

  Journal& journal_;
  const JournalAsk& ask_;
  bool json_;
  std::size_t count_ = 0;
  Date day_;
  std::string speaker_;  ///< of the notice before
};

void run_list(const JournalAsk& ask, CommandContext& context) {
  const auto query = query_of(ask, context);
  if (!query) return;
  auto journal = Journal::open_read_only(journal_path(ask, context));
  if (!journal) return void(complain(context, "journal", journal.error().text, kBadInput));
  NoticePrinter printer(**journal, ask, context.json);
  const auto status = (*journal)->each_notice(*query, [&](const NoticeRecord& record) { return printer.print(record); });
  if (!status)
    return void(complain(context, "journal", status.error().text + "; what is above could be read", kBadInput));
  if (const std::string losses = (*journal)->losses(); !losses.empty())
    return void(complain(context, "journal", losses, kBadInput));
  if (printer.count() == 0 && !context.json) write_text(stderr, "No notice fits.\n");
}

void print_acknowledged(const std::string& id, const Status& done) {
  OrderedJson line;
  if (done) line["acknowledged"] = id;
  else line["error"] = done.error().text;
  write_json(stdout, line.dump() + "\n");
}

void run_ack(const JournalAsk& ask, CommandContext& context) {
  const std::string path = journal_path(ask, context);
  if (auto there = Journal::open_read_only(path, {.check = false}); !there)
    return void(complain(context, "journal", there.error().text, kBadInput));
  auto journal = Journal::open(path, {.check = false});
  if (!journal) return void(complain(context, "journal", journal.error().text, kBadInput));
  for (const std::string& id : ask.ids) {
    const Status done = (*journal)->acknowledge(id, wall_now());
    if (!done) complain(context, "journal", done.error().text, kFailed);
    if (context.json) print_acknowledged(id, done);
    else if (done) print_out("acknowledged %s\n", id.c_str());
  }
}

void add_ack(CLI::App& journal, const std::shared_ptr<JournalAsk>& ask, CommandContext& context) {
  CLI::App* ack = journal.add_subcommand("ack", "Acknowledge a notice, so that it is not repeated");
  ack->add_option("ID", ask->ids, "Notice, as `brimwatch journal --deliveries` shows it")->required();
  ack->fallthrough();
  ack->footer("Example: brimwatch journal ack 2026-11-25/KLVN/48.35/crossed/1");
  ack->callback([ask, &context] { run_ack(*ask, context); });
}

}  // namespace

void add_journal(CLI::App& root, CommandContext& context) {
  auto ask = std::make_shared<JournalAsk>();
  CLI::App* journal = root.add_subcommand("journal", "List notices in order, and what became of each");
  journal->add_option("--journal", ask->journal, "Journal file (default: as configured, or the place XDG gives)")
      ->type_name("FILE");
  journal->add_option("--day", ask->day, "Trade date")->type_name("DATE");
  journal->add_option("--from", ask->from, "First trade date")->type_name("DATE");
  journal->add_option("--to", ask->to, "Last trade date")->type_name("DATE");
  journal->add_option("--symbol", ask->symbol, "Only this symbol, feed or channel")->type_name("NAME");
  journal->add_option("--kind", ask->kinds, "Only this kind, e.g. crossed; may be given more than once")
      ->type_name("KIND");
  journal->add_option("--last", ask->last, "Only the last N of those")
      ->type_name("N")
      ->check(CLI::Validator([](std::string& text) { return count_problem(text); }, ""));
  journal->add_flag("--deliveries", ask->deliveries, "With id, channels, attempts and replies of each");
  add_common(*journal, context, true, About::running);
  add_ack(*journal, ask, context);
  add_journal_answers(
      *journal, [ask, &context] { return journal_path(*ask, context); }, context);
  add_journal_export(
      *journal, [ask, &context] { return journal_path(*ask, context); },
      [ask, &context] { return query_of(*ask, context); }, context);
  add_journal_upkeep(
      *journal, [ask, &context] { return journal_path(*ask, context); }, context);
  journal->require_subcommand(0, 1);
  journal->footer("Works beside a running daemon. Information, not advice; data may be late or wrong.");
  journal->callback([journal, ask, &context] {
    if (journal->get_subcommands().empty()) run_list(*ask, context);
  });
}

}  // namespace brimwatch
