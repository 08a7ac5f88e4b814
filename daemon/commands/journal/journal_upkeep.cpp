#include "commands/journal/journal_upkeep.h"

#include <memory>

#include "commands/load.h"
#include "config/paths.h"
#include "config/reading/text.h"
#include "files/own_files.h"
#include "journal/upkeep.h"
#include "loop/clock.h"
#include "loop/lock.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

using PathOf = std::function<std::string()>;

void run_backup(const std::string& journal, const std::string& file, CommandContext& context) {
  const std::string to = absolute_path(file, current_directory(), home_directory());
  if (const Status done = backup_journal(journal, to); !done) {
    context.exit = tell(done.error(), kFailed);
    return;
  }
  if (!context.json)
    print_out(
        "%s is written, and sound: all of %s up to now, in one file.\n"
        "Learned curves, configuration and watch lists are files of their own: copy them too.\n",
        to.c_str(), journal.c_str());
}

void run_restore(const std::string& journal, const std::string& file, CommandContext& context) {
  const std::string path = without_links(journal);
  const auto lock = InstanceLock::take(path + ".lock");
  if (!lock) {
    context.exit = tell(Error{lock.error().text}, kFailed);
    return;
  }
  if (const Status done = restore_journal(absolute_path(file, current_directory(), home_directory()), path); !done) {
    context.exit = tell(done.error(), kFailed);
    return;
  }
  if (!context.json) print_out("%s is there again; start with: brimwatch run\n", path.c_str());
}

void run_prune(const std::string& journal, const JournalKeep& keep, bool dry, CommandContext& context) {
  const Date today{static_cast<std::int32_t>(wall_now().ns / kDayNanos)};
  const auto pruned = prune_journal(journal, keep, today, dry);
  if (!pruned) {
    context.exit = tell(pruned.error(), kFailed);
    return;
  }
  const auto count = [](std::int64_t rows) { return static_cast<long long>(rows); };
  const char* const form =
      context.json ? "{\"notices\":%lld,\"deliveries\":%lld,\"day_records\":%lld,\"holes\":%lld}\n"
      : dry        ? "would go: %lld notices, %lld deliveries, %lld records of days, %lld holes; nothing was changed\n"
            : "gone: %lld notices, %lld deliveries, %lld records of days, %lld holes; their room is used for new rows\n";
  print_out(form, count(pruned->notices), count(pruned->deliveries), count(pruned->day_records), count(pruned->holes));
}

void add_backup(CLI::App& journal, const PathOf& path, CommandContext& context) {
  const auto file = std::make_shared<std::string>();
  CLI::App* const command =
      journal.add_subcommand("backup", "Writes all of the journal into one file, also while the daemon runs");
  command->add_option("FILE", *file, "Where to; nothing is overwritten")->required();
  command->fallthrough();
  command->footer(
      "A plain copy of a journal that is in use is no backup: it lacks what still stands in the file -wal beside it, and "
      "may not even be sound.\nExample: brimwatch journal backup /mnt/backup/journal-2026-11-27.db");
  command->callback([file, path, &context] { run_backup(path(), *file, context); });
}

void add_restore(CLI::App& journal, const PathOf& path, CommandContext& context) {
  const auto file = std::make_shared<std::string>();
  CLI::App* const command =
      journal.add_subcommand("restore", "Puts a backup in the journal's place, where there is none");
  command->add_option("FILE", *file, "The backup; it is looked at first and stays as it is")->required();
  command->fallthrough();
  command->footer(
      "Notices, deliveries, records of days and what the watches know come back; nothing is told a second time. Not "
      "while "
      "a daemon runs on that journal.\nExample: brimwatch journal restore /mnt/backup/journal-2026-11-27.db");
  command->callback([file, path, &context] { run_restore(path(), *file, context); });
}

void add_prune(CLI::App& journal, const PathOf& path, CommandContext& context) {
  struct Ask {
    JournalKeep keep;
    bool dry = false;
  };
  const auto ask = std::make_shared<Ask>();
  CLI::App* const command = journal.add_subcommand("prune", "Removes old rows, also while the daemon runs");
  const auto add = [&](const char* name, int& days, const char* what) {
    command->add_option(name, days, std::string("Days that ") + what + " stay; 0: for ever")
        ->check(CLI::Range(0, 36'500))
        ->type_name("DAYS")
        ->capture_default_str();
  };
  add("--notices", ask->keep.notices, "notices, with their deliveries,");
  add("--deliveries", ask->keep.deliveries, "deliveries of notices that stay");
  add("--day-records", ask->keep.day_records, "records of a stock's day");
  add("--holes", ask->keep.holes, "holes of feeds");
  command->add_flag("--dry-run", ask->dry, "Only say what would go");
  command->fallthrough();
  command->footer(
      "A notice whose delivery is not over stays. The file does not shrink; a backup is as small as can be.\n"
      "Example: brimwatch journal prune --deliveries 180 --dry-run");
  command->callback([ask, path, &context] { run_prune(path(), ask->keep, ask->dry, context); });
}

}  // namespace

void add_journal_upkeep(CLI::App& journal, PathOf path, CommandContext& context) {
  add_backup(journal, path, context);
  add_restore(journal, path, context);
  add_prune(journal, path, context);
}

}  // namespace brimwatch
