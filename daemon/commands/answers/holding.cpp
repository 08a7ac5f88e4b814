// brimwatch bought, sold, holding, ack: what one has done, and seen.

#include "commands/answers/answering.h"
#include "commands/load.h"
#include "commands/snapshot_cells.h"
#include "core/text/json.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

void print_holding(const OrderedJson& row) {
  print_out("%-8s %9s %9s %8s %9s %9s\n", symbol_cell(row).c_str(), price_cell(row, "bought").c_str(),
            price_cell(row, "last").c_str(), percent_cell(row, "on_bought", 1).c_str(),
            price_cell(row, "loss_limit").c_str(), shares_cell(row, "shares").c_str());
}

void list_holdings(const Answering& answering, CommandContext& context) {
  const auto text = ask_snapshot(answering, context);
  if (!text) return;
  const OrderedJson snapshot = OrderedJson::parse(*text, nullptr, false);
  if (!snapshot.is_object()) return void(context.exit = tell(Error{"the daemon's answer could not be read"}, kFailed));
  std::vector<OrderedJson> held;
  for (const OrderedJson& row : snapshot["watches"]) {
    if (row["bought"].is_number()) held.push_back(row);
  }
  if (context.json) {
    for (const OrderedJson& row : held) write_json(stdout, row.dump() + "\n");
    return;
  }
  if (held.empty()) return print_out("no holding; say brimwatch bought SYMBOL PRICE\n");
  print_out("%-8s %9s %9s %8s %9s %9s\n", "symbol", "bought", "last", "gain", "limit", "shares");
  for (const OrderedJson& row : held) print_holding(row);
}

}  // namespace

void add_bought(CLI::App& root, CommandContext& context) {
  auto answering = std::make_shared<Answering>();
  answering->request.kind = AnswerKind::bought;
  CLI::App* const bought = root.add_subcommand("bought", "Record that you bought a stock: limits from your own price");
  bought->add_option("SYMBOL", answering->request.symbol, "A stock that is watched")->required();
  bought->add_option("PRICE", answering->request.price, "What you paid")->required();
  bought->add_option("--shares", answering->request.shares, "How many")->type_name("COUNT");
  bought->add_option("--pivot", answering->request.pivot, "Which of its watches, where it has several")
      ->type_name("PRICE");
  add_answering(*bought, answering, context);
  bought->footer(
      "From then on the loss limit (loss, 8 %) is measured from your price, gains of 20 and 25 % (gain, gain_more) bring "
      "notices, and the watch stays until you say sold. After a second purchase the mean price counts, if both gave "
      "--shares. No order is placed; information, not advice.");
  bought->callback([answering, &context] { send(*answering, context); });
}

void add_sold(CLI::App& root, CommandContext& context) {
  auto answering = std::make_shared<Answering>();
  answering->request.kind = AnswerKind::sold;
  CLI::App* const sold = root.add_subcommand("sold", "Record that you sold it, or part of it");
  sold->add_option("SYMBOL", answering->request.symbol, "A stock that you said you bought")->required();
  sold->add_option("PRICE", answering->request.price, "What you got, for the review");
  sold->add_option("--shares", answering->request.shares, "How many, where you keep the rest")->type_name("COUNT");
  add_answering(*sold, answering, context);
  sold->footer(
      "Without --shares all of it is sold, and only the watch remains. With it the rest stays held at the same mean "
      "price, with the same loss limit. Example: brimwatch sold KLVN 58.20 --shares 100");
  sold->callback([answering, &context] { send(*answering, context); });
}

void add_holding(CLI::App& root, CommandContext& context) {
  auto answering = std::make_shared<Answering>();
  CLI::App* const holding = root.add_subcommand("holding", "List the stocks you hold, and where they stand");
  add_looking(*holding, answering, context);
  holding->callback([answering, &context] { list_holdings(*answering, context); });
}

void add_acknowledge(CLI::App& root, CommandContext& context) {
  auto answering = std::make_shared<Answering>();
  answering->request.kind = AnswerKind::acknowledge;
  CLI::App* const ack = root.add_subcommand("ack", "Acknowledge a notice, so that it is not repeated");
  ack->add_option("WHICH", answering->request.symbol, "A symbol: its newest notice; or a notice's id")->required();
  add_answering(*ack, answering, context);
  ack->footer("Without a running daemon: brimwatch journal ack ID.");
  ack->callback([answering, &context] { send(*answering, context); });
}

}  // namespace brimwatch
