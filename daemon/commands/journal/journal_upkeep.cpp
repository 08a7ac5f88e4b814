#include "commands/journal/journal_upkeep.h"

#include <filesystem>
#include <memory>

#include "commands/load.h"
#include "config/loader.h"
#include "config/paths.h"
#include "config/reading/text.h"
#include "core/text/json.h"
#include "files/own_files.h"
#include "journal/prune.h"
#include "journal/upkeep.h"
#include "loop/clock.h"
#include "loop/lock.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

using PathOf = std::function<std::string()>;

void print_line(const OrderedJson& line) { write_json(stdout, line.dump() + "\n"); }

std::uintmax_t size_of(const std::string& path) {
  std::error_code none;
  const auto size = std::filesystem::file_size(path, none);
  return none ? 0 : size;
}

void run_backup(const std::string& journal, const std::string& file, CommandContext& context) {
  const std::string to = absolute_path(file, current_directory(), home_directory());
  if (const Status done = backup_journal(journal, to); !done) {
    context.exit = tell(done.error(), kFailed);
    return;
  }
  if (context.json) return print_line({{"backup", to}, {"journal", journal}, {"bytes", size_of(to)}});
  print_out(
      "%s is written, and sound: all of %s up to now, in one file.\n"
      "A plain copy of the journal's file while a daemon runs is not a backup. "
      "Learned curves, configuration and watch lists are files of their own: copy them too.\n",
      to.c_str(), journal.c_str());
}

void run_restore(const std::string& journal, const std::string& file, bool plain_copy, CommandContext& context) {
  const std::string path = without_links(journal);
  const auto lock = InstanceLock::take(path + ".lock");
  if (!lock) {
    context.exit = tell(Error{lock.error().text}, kFailed);
    return;
  }
  const std::string from = absolute_path(file, current_directory(), home_directory());
  if (const Status done = restore_journal(from, path, plain_copy); !done) {
    context.exit = tell(done.error(), kFailed);
    return;
  }
  if (context.json) return print_line({{"journal", path}, {"backup", from}});
  print_out("%s is there again; start with: brimwatch run\n", path.c_str());
}

struct PruneAsk {
  int notices = -1, deliveries = -1, day_records = -1, holes = -1, states = -1;  ///< -1: as configured
  bool dry = false;
};

JournalKeep kept_by(const PruneAsk& ask, const KeepSettings& set) {
  const auto or_set = [](int asked, int configured) { return asked < 0 ? configured : asked; };
  return {or_set(ask.notices, set.notices), or_set(ask.deliveries, set.deliveries),
          or_set(ask.day_records, set.day_records), or_set(ask.holes, set.holes), or_set(ask.states, set.states)};
}

void print_pruned(const PrunedRows& gone) {
  print_line({{"notices", gone.notices},
              {"deliveries", gone.deliveries},
              {"day_records", gone.day_records},
              {"holes", gone.holes},
              {"states", gone.states}});
}

void run_prune(const std::string& journal, const PruneAsk& ask, CommandContext& context) {
  const Date today{static_cast<std::int32_t>(wall_now().ns / kDayNanos)};
  const KeepSettings set = load_settings(config_file(context.config)).settings.keep;
  const auto pruned = prune_journal(journal, kept_by(ask, set), today, {.dry = ask.dry});
  if (!pruned) {
    context.exit = tell(pruned.error(), kFailed);
    return;
  }
  const PrunedRows& gone = *pruned;
  if (context.json) return print_pruned(gone);
  const auto count = [](std::int64_t rows) { return static_cast<long long>(rows); };
  print_out("%s: %lld notices, %lld deliveries, %lld records of days, %lld holes, %lld states; %s\n",
            ask.dry ? "would go" : "gone", count(gone.notices), count(gone.deliveries), count(gone.day_records),
            count(gone.holes), count(gone.states), ask.dry ? "nothing was changed" : "their room is used for new rows");
}

void add_backup(CLI::App& journal, const PathOf& path, CommandContext& context) {
  const auto file = std::make_shared<std::string>();
  CLI::App* const command =
      journal.add_subcommand("backup", "Write the whole journal to one file, even while the daemon runs");
  command->add_option("FILE", *file, "Where to; nothing is overwritten")->required();
  command->fallthrough();
  command->footer(
      "A plain copy of a journal in use is not a backup: it lacks what is still in the -wal file beside it, and may be "
      "corrupt.\nExample: brimwatch journal backup /mnt/backup/journal-2026-11-27.db");
  command->callback([file, path, &context] { run_backup(path(), *file, context); });
}

void add_restore(CLI::App& journal, const PathOf& path, CommandContext& context) {
  const auto file = std::make_shared<std::string>();
  const auto plain_copy = std::make_shared<bool>(false);
  CLI::App* const command = journal.add_subcommand("restore", "Restore a backup, where there is no journal");
  command->add_option("FILE", *file, "The backup; it is checked first and left as it is")->required();
  command->add_flag("--plain-copy", *plain_copy, "Accept a plain copy of a journal, made while no daemon ran");
  command->fallthrough();
  command->footer(
      "Notices, deliveries, answers, holdings, day records and the watches' state come back; no notice is sent twice. "
      "Works "
      "on another machine too, and with a backup of an older version. Not while a daemon runs on that journal.\nExample: "
      "brimwatch journal restore /mnt/backup/journal-2026-11-27.db");
  command->callback([file, plain_copy, path, &context] { run_restore(path(), *file, *plain_copy, context); });
}

void add_prune(CLI::App& journal, const PathOf& path, CommandContext& context) {
  const auto ask = std::make_shared<PruneAsk>();
  CLI::App* const command =
      journal.add_subcommand("prune", "Remove old rows now, even while the daemon runs, which does it daily");
  const auto add = [&](const char* name, int& days, const char* what) {
    command->add_option(name, days, std::string("Days that ") + what + " stay; 0: for ever (default: as in [keep])")
        ->check(CLI::Range(0, 36'500))
        ->type_name("DAYS");
  };
  add("--notices", ask->notices, "notices, with their deliveries,");
  add("--deliveries", ask->deliveries, "deliveries of kept notices");
  add("--day-records", ask->day_records, "records of a stock's day");
  add("--holes", ask->holes, "holes of feeds");
  add("--states", ask->states, "states of watches on days before");
  command->add_flag("--dry-run", ask->dry, "Only say what would go");
  command->fallthrough();
  command->footer(
      "What is still needed stays however old it is: a notice whose delivery is not over, answers and holdings, the "
      "newest "
      "state of each watch. The file does not shrink; a backup is as small as can be.\n"
      "Example: brimwatch journal prune --deliveries 180 --dry-run");
  command->callback([ask, path, &context] { run_prune(path(), *ask, context); });
}

}  // namespace

void add_journal_upkeep(CLI::App& journal, PathOf path, CommandContext& context) {
  add_backup(journal, path, context);
  add_restore(journal, path, context);
  add_prune(journal, path, context);
}

}  // namespace brimwatch
