// brimwatch feeds map: messages of an unknown source in, a [[feed]] for the configuration out.
#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "adapters/guessing/written.h"
#include "commands/feeds/feeds.h"
#include "commands/feeds/sample_source.h"
#include "commands/load.h"
#include "config/loader.h"
#include "files/own_files.h"
#include "files/text_file.h"
#include "live/usable.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct MapOptions {
  std::string sample, write, name;
  LiveSample live;
};

/// What stands in the way of one more feed in a configuration; other feeds that are on are told.
Status make_room(const std::string& path, const std::string& name) {
  LoadOptions alone;
  alone.lists = false;
  const Loaded loaded = load_settings(path, alone);
  if (!loaded.ok())
    return fail(to_string(loaded.problems.front()) + "; nothing is appended until brimwatch check has nothing to say");
  for (const FeedSettings& feed : loaded.settings.feeds) {
    if (feed.name == name) {
      std::string why = path;
      why.append(": there is a feed \"").append(name);
      return fail(why.append("\" already, and nothing is appended; --name gives this one another name"));
    }
    if (feed.enabled)
      print_error("%s: the feed \"%s\" is on too; enabled = false switches it off\n", path.c_str(), feed.name.c_str());
  }
  return {};
}

/// The configuration with the feed behind it.
Status append_feed(const std::string& path, const std::string& name, const std::string& toml) {
  std::string text;
  if (is_there(path)) {
    if (Status room = make_room(path, name); !room) return room;
    auto there = read_file(path);
    if (!there) return tl::unexpected(there.error());
    text = std::move(*there);
  }
  if (!text.empty() && text.back() != '\n') text += '\n';
  return write_output(path, text + (text.empty() ? "" : "\n") + toml);
}

/// Whether `brimwatch check` would take the feed, alone in a file of its own.
std::vector<std::string> refused(const std::string& toml) {
  std::vector<std::string> out;
  const auto folder = TemporaryFolder::make();
  if (!folder) return {folder.error().text};
  const std::string path = folder->path() + "/feed.toml";
  if (const Status written = write_output(path, toml); !written) return {written.error().text};
  LoadOptions alone;
  alone.lists = false;
  for (const Problem& problem : load_settings(path, usable(alone)).problems) out.push_back(problem.text);
  return out;
}

int show_proposal(const MapOptions& options, Proposal proposal, bool json) {
  if (!options.name.empty()) proposal.settings.name = options.name;
  options.live.put_into(proposal.settings);
  const std::string toml = feed_as_toml(proposal);
  const auto problems = proposal.usable ? refused(toml) : std::vector<std::string>();
  for (const std::string& problem : problems)
    print_error("brimwatch: the proposed feed would be refused: %s\n", problem.c_str());
  if (json) write_json(stdout, proposal_as_json(proposal) + "\n");
  else write_text(stdout, proposal_as_text(proposal));
  if (!json && proposal.usable) write_verbatim(stdout, "\n" + toml);
  if (!proposal.usable || !problems.empty()) return kFailed;
  if (options.write.empty()) return kFine;
  if (const Status written = append_feed(options.write, proposal.settings.name, toml); !written)
    return tell(written.error(), kFailed);
  print_error("appended to %s; next: brimwatch check, then brimwatch feeds try %s\n", options.write.c_str(),
              proposal.settings.name.c_str());
  return kFine;
}

int map_feed(const MapOptions& options, bool json) {
  const bool live = is_address_of_a_source(options.sample);
  const auto sample = live ? sample_of_source(options.sample, options.live) : sample_of_file(options.sample);
  if (!sample) return tell(sample.error(), live ? kFailed : kBadInput);
  auto proposal = propose(*sample);
  MapOptions told = options;
  told.live.events = sample->events;
  if (!proposal) return tell(Error{options.sample + ": " + proposal.error().text}, kBadInput);
  return show_proposal(told, std::move(*proposal), json);
}

}  // namespace

void add_feeds_map(CLI::App& feeds, CommandContext& context) {
  auto options = std::make_shared<MapOptions>();
  CLI::App* command =
      feeds.add_subcommand("map", "Look at messages of a source and propose the [[feed]] that reads them");
  command->add_flag("--json", context.json, "Print JSON, one object a line");
  command
      ->add_option("sample", options->sample,
                   "A file of messages (one a line, a document, events, or a recording), or a live address")
      ->type_name("SAMPLE|URL")
      ->required();
  command->add_option("--write", options->write, "Append the [[feed]] to this configuration")->type_name("FILE");
  command->add_option("--name", options->name, "The feed's name (default: mapped)")->type_name("NAME");
  add_live_options(*command, options->live);
  command->footer(
      "Names and values are looked at: times rise, prices of one symbol lie near each other, the day's volume only "
      "grows. "
      "Each guess has its evidence and is sure or likely; what cannot be guessed is asked for by name. The project's own "
      "decoder then reads the sample with the mapping, and the share of messages understood is printed. Exits with 0 "
      "when a feed is proposed, with 1 when none can be, with 4 when the sample cannot be read.\n\n"
      "Examples:\n"
      "  brimwatch feeds map messages.jsonl\n"
      "  brimwatch feeds map messages.jsonl --write ~/.config/brimwatch/brimwatch.toml\n"
      "  brimwatch feeds map wss://quotes.example.org/v1 \\\n"
      "    --secret-env QUOTES_KEY --hello '{\"do\":\"login\",\"key\":\"{secret}\"}' \\\n"
      "    --subscribe '{\"do\":\"watch\",\"symbols\":{symbols_json}}' "
      "\\\n    --symbols KLVN,NIVO");
  command->callback([options, &context] {
    if (is_address_of_a_source(options->sample)) options->live.url = options->sample;
    context.exit = map_feed(*options, context.json);
  });
}

}  // namespace brimwatch
