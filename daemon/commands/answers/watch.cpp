// brimwatch watch: adds, drops and mutes watches of a running daemon. Lists of the user's own are never rewritten.

#include "commands/answers/answering.h"
#include "commands/load.h"
#include "commands/snapshot_cells.h"
#include "core/text/json.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

CLI::App& add_one(CLI::App& watch, const char* name, const char* what, AnswerKind kind,
                  const std::shared_ptr<Answering>& answering, CommandContext& context) {
  CLI::App* const command = watch.add_subcommand(name, what);
  command->add_option("SYMBOL", answering->request.symbol, "The stock's symbol as the feed writes it")->required();
  add_answering(*command, answering, context);
  command->callback([answering, kind, &context] {
    answering->request.kind = kind;
    send(*answering, context);
  });
  return *command;
}

void take_pivot(CLI::App& command, const std::shared_ptr<Answering>& answering) {
  command.add_option("PIVOT", answering->request.pivot, "Which of its pivots, where it has several");
}

void add_add(CLI::App& watch, CommandContext& context) {
  auto answering = std::make_shared<Answering>();
  CLI::App& add = add_one(watch, "add", "Watch one more pivot, from now on and after every restart", AnswerKind::add,
                          answering, context);
  add.add_option("PIVOT", answering->request.pivot, "The price at which it clears its last resistance")->required();
  add.add_option("--note", answering->request.note, "Your own words, shown in its notices")->type_name("TEXT");
  add.add_option("--until", answering->request.until, "Last day it is watched")->type_name("DATE");
  add.footer("Example: brimwatch watch add KLVN 48.35 --note \"cup with handle\" --until 2026-12-31");
}

void add_mute(CLI::App& watch, CommandContext& context) {
  auto answering = std::make_shared<Answering>();
  answering->request.span = "hour";
  CLI::App& mute = add_one(watch, "mute", "Silence a watch for a while; its notices go to the journal only",
                           AnswerKind::mute, answering, context);
  take_pivot(mute, answering);
  mute.add_option("--for", answering->request.span, "hour, today, or under: until a price is under the pivot")
      ->type_name("SPAN");
  mute.footer("Loss-limit and gain notices of a stock you bought still come. When a mute ends, nothing is sent again.");
}

std::string muted_cell(const OrderedJson& row) {
  if (row.value("muted_under_pivot", false)) return "until under the pivot";
  const OrderedJson until = row.value("muted_until", OrderedJson());
  return until.is_string() ? "until " + until.get<std::string>().substr(11, 5) : "";
}

void print_watch(const OrderedJson& row) {
  std::string remarks = muted_cell(row);
  const auto add = [&](const std::string& words) { remarks += (remarks.empty() ? "" : "; ") + words; };
  if (!remarks.empty()) remarks = "muted " + remarks;
  if (row["bought"].is_number()) add("bought at " + price_cell(row, "bought"));
  if (row.value("added", false)) add("added");
  if (!row.value("in_force", true)) add("not in force today");
  if (const std::string note = row.value("note", ""); !note.empty()) add(note);
  print_out("%-8s %9s %9s %-7s %s\n", symbol_cell(row).c_str(), price_cell(row, "pivot").c_str(),
            price_cell(row, "last").c_str(), words_of(row, "side").c_str(), remarks.c_str());
}

void list(const Answering& answering, CommandContext& context) {
  const auto text = ask_snapshot(answering, context);
  if (!text) return;
  const OrderedJson snapshot = OrderedJson::parse(*text, nullptr, false);
  if (!snapshot.is_object()) return void(context.exit = tell(Error{"the daemon's answer could not be read"}, kFailed));
  if (context.json) {
    for (const OrderedJson& row : snapshot["watches"]) write_json(stdout, row.dump() + "\n");
    return;
  }
  print_out("%-8s %9s %9s %-7s\n", "symbol", "pivot", "last", "side");
  for (const OrderedJson& row : snapshot["watches"]) print_watch(row);
  if (snapshot["watches"].empty()) print_out("nothing is watched; brimwatch watch add SYMBOL PIVOT\n");
}

void add_list(CLI::App& watch, CommandContext& context) {
  auto answering = std::make_shared<Answering>();
  CLI::App* const command = watch.add_subcommand("list", "List all watches: added, muted, bought");
  add_looking(*command, answering, context);
  command->callback([answering, &context] { list(*answering, context); });
}

}  // namespace

void add_watch(CLI::App& root, CommandContext& context) {
  CLI::App* const watch = root.add_subcommand("watch", "Add, drop and mute watches of the running daemon");
  add_add(*watch, context);
  auto dropping = std::make_shared<Answering>(), speaking = std::make_shared<Answering>();
  take_pivot(
      add_one(*watch, "drop", "Stop watching it; your own lists stay as they are", AnswerKind::drop, dropping, context),
      dropping);
  add_mute(*watch, context);
  take_pivot(add_one(*watch, "unmute", "End a mute", AnswerKind::unmute, speaking, context), speaking);
  add_list(*watch, context);
  watch->require_subcommand(1);
  watch->footer(
      "Takes effect at once and is kept in the journal, so it survives restarts and reloads. A dropped watch that is "
      "still in a list of yours comes back with `brimwatch watch add`.");
}

}  // namespace brimwatch
