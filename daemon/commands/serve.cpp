// brimwatch serve TAPE: a recorded day played as a live source on this machine, to rehearse a whole set-up.
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <csignal>
#include <cstdio>
#include <memory>

#include "commands/command.h"
#include "commands/load.h"
#include "commands/rehearsal_server.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct ServeArguments {
  RehearsalOptions options;
  std::string as = "stream", from;
  std::vector<std::string> misbehaviours;
};

int refuse(const std::string& what) {
  print_error("brimwatch serve: %s\n", what.c_str());
  return kUsage;
}

/// Empty when a source of this kind can do it.
std::string objection(const Misbehaviour& what, ServeAs as) {
  using Kind = Misbehaviour::Kind;
  const bool poll = as == ServeAs::poll;
  if (what.kind == Kind::close && poll != (what.amount < 600))
    return poll ? "a poll answers a status from 400 to 599, such as close:503"
                : "a stream closes with a code from 1000 to 4999";
  if (what.kind == Kind::close && !poll && what.amount < 1000) return "a stream closes with a code from 1000 to 4999";
  const bool single =
      what.kind == Kind::lose || what.kind == Kind::drop || what.kind == Kind::duplicate || what.kind == Kind::reorder;
  return poll && single ? "a poll has no single messages; stall, away, close, cut, delay and garbage are for it" : "";
}

int read_arguments(ServeArguments& arguments) {
  RehearsalOptions& options = arguments.options;
  options.as = arguments.as == "poll" ? ServeAs::poll : ServeAs::stream;
  if (!arguments.from.empty()) {
    const auto second = parse_second_of_day(arguments.from);
    if (!second) return refuse("--from: found \"" + arguments.from + "\", expected hh:mm or hh:mm:ss");
    options.from_second = *second;
  }
  for (const std::string& text : arguments.misbehaviours) {
    const auto what = parse_misbehaviour(text);
    if (!what) return refuse("--misbehave: " + what.error().text);
    const std::string why = objection(*what, options.as);
    if (!why.empty()) return refuse("--misbehave: found \"" + text + "\"; " + why);
    options.misbehaviours.push_back(*what);
  }
  return kFine;
}

void print_configuration(const RehearsalServer& server, const RehearsalOptions& options) {
  write_verbatim(stdout, "# Plays " + options.tape +
                             ".\n"
                             "# Put this in place of the feeds in a copy of your configuration, with a\n"
                             "# journal of its own:\n"
                             "#   brimwatch run --config rehearsal.toml --journal rehearsal.db \\\n"
                             "#                 --socket rehearsal.socket\n" +
                             server.configuration() + "\n");
  std::fflush(stdout);
}

int run_serve(ServeArguments& arguments) {
  if (const int wrong = read_arguments(arguments); wrong != kFine) return wrong;
  boost::asio::io_context io{1};
  const auto opened = RehearsalServer::open(
      io, arguments.options, [](const std::string& line) { print_error("brimwatch serve: %s\n", line.c_str()); });
  if (!opened) return tell(opened.error(), kBadInput);
  const RehearsalServer& server = **opened;
  print_configuration(server, arguments.options);
  print_error("brimwatch serve: waiting on 127.0.0.1:%d; the tape begins when the first client comes\n", server.port());
  boost::asio::signal_set signals(io, SIGINT, SIGTERM);
  signals.async_wait([&](const boost::system::error_code&, int) { io.stop(); });
  io.run();
  print_error("brimwatch serve: ended; %s\n", server.summary().c_str());
  return kFine;
}

}  // namespace

void add_serve(CLI::App& root, CommandContext& context) {
  auto arguments = std::make_shared<ServeArguments>();
  CLI::App* command = root.add_subcommand(
      "serve", "Play a tape as a live source on this machine, to rehearse a whole set-up at the weekend");
  command->add_option("tape", arguments->options.tape, "The tape (CSV, plain, gzip or zstd)")
      ->required()
      ->type_name("TAPE");
  command->add_option("--as", arguments->as, "stream: a WebSocket; poll: an HTTP address to poll")
      ->check(CLI::IsMember({"stream", "poll"}))
      ->type_name("stream|poll");
  command->add_option("--speed", arguments->options.speed, "Times real time: 60 plays an hour in a minute")
      ->check(CLI::Range(0.01, 100'000.0))
      ->type_name("N");
  command->add_option("--port", arguments->options.port, "On 127.0.0.1 (default: one that is free)")
      ->check(CLI::Range(0, 65535))
      ->type_name("P");
  command->add_option("--from", arguments->from, "Start here, in the exchange's time")->type_name("hh:mm");
  command->add_option("--calendar", arguments->options.calendar, "Whose local time hh:mm means (default XNYS)")
      ->check(CLI::IsMember(Calendar::known()))
      ->type_name("MIC");
  command
      ->add_option("--misbehave", arguments->misbehaviours,
                   "A fault to inject, KIND[:AMOUNT][@hh:mm[:ss]]; may be repeated")
      ->type_name("KIND");
  command->add_option("--seed", arguments->options.seed, "Seed of random faults; the same seed, the same faults")
      ->type_name("N");
  command->footer(
      "KIND is one of\n"
      "  stall:30@10:15   nothing for 30 s, then all of it at once\n"
      "  lose:30@10:15    nothing for 30 s, and what was due then never comes\n"
      "  away:30@10:15    connections end, and nobody gets in for 30 s\n"
      "  close:1013@11:00 ends the connections with this code; a poll answers this HTTP status once\n"
      "  cut@11:00        ends the connections without a word\n"
      "  delay:90         everything comes 90 s late, from the moment given, if any\n"
      "  drop:1 garbage:1 duplicate:1 reorder:1   this percentage of messages\n"
      "Seconds are the tape's: at --speed 60 a stall of 30 s takes half a second.\n"
      "The tape keeps its times and its session, on whatever day it is played; the feed's "
      "`rehearsal = N` lets the daemon measure the age of data against the tape's own time.\n"
      "Example: brimwatch serve day.csv --speed 60 --misbehave away:120@10:15");
  command->callback([arguments, &context] { context.exit = run_serve(*arguments); });
}

}  // namespace brimwatch
