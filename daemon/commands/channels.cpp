// brimwatch channels: list them; or try them: a test message through every channel, and what the other side says to it.
#include <chrono>
#include <cstdio>
#include <ctime>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "adapters/channels/table.h"
#include "adapters/channels/test_message.h"
#include "commands/command.h"
#include "commands/load.h"
#include "config/paths.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct Tried {
  std::string name, kind;
  Delivery delivery;
  double seconds = 0;
};

std::chrono::seconds local_offset(std::chrono::sys_seconds now) {
  const std::time_t time = now.time_since_epoch().count();
  std::tm local{};
  localtime_r(&time, &local);
  return std::chrono::seconds(local.tm_gmtoff);
}

/// As the daemon has them; nothing of them is changed here. Null where they cannot be read: the channel says so.
std::shared_ptr<Devices> devices_of(const std::string& journal) {
  auto devices = Devices::open(devices_file(journal.empty() ? places().journal() : journal), false);
  return devices ? std::move(*devices) : nullptr;
}

Tried try_one(const ChannelSettings& settings, const std::string& journal) {
  ChannelContext context = default_context();
  if (settings.kind == "push") context.devices = devices_of(journal);
  const auto start = std::chrono::steady_clock::now();
  Tried tried{settings.name, settings.kind, {}, 0};
  if (const auto channel = make_channel(settings, context)) {
    const std::chrono::sys_seconds now = context.now();
    tried.delivery = (*channel)->send(test_message(settings.name, now, local_offset(now)));
  } else {
    tried.delivery = {Outcome::dead, channel.error().text, std::nullopt};
  }
  tried.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return tried;
}

void print(const Tried& tried, bool json) {
  if (!json) {
    print_out("%-16s %-8s %s (%.1f s): %s\n", tried.name.c_str(), tried.kind.c_str(),
              std::string(words_of(tried.delivery)).c_str(), tried.seconds, tried.delivery.reply.c_str());
  } else {
    const nlohmann::ordered_json line{{"channel", tried.name},
                                      {"kind", tried.kind},
                                      {"delivered", tried.delivery.outcome == Outcome::delivered},
                                      {"outcome", words_of(tried.delivery)},
                                      {"reply", tried.delivery.reply},
                                      {"seconds", tried.seconds}};
    write_json(stdout, line.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace) + "\n");
  }
  std::fflush(stdout);
}

/// The channel of that name, switched off or not; with no name, all that are on.
std::vector<ChannelSettings> chosen(const Settings& settings, const std::string& name) {
  std::vector<ChannelSettings> out;
  for (const ChannelSettings& channel : settings.channels) {
    if (name.empty() ? channel.enabled : channel.name == name) out.push_back(channel);
  }
  return out;
}

int tell_none(const Settings& settings, const std::string& name) {
  std::string known;
  for (const ChannelSettings& channel : settings.channels) known += (known.empty() ? "" : ", ") + channel.name;
  if (known.empty()) return tell(Error{"no [[channel]] is configured, so there is nothing to try"}, kFailed);
  if (name.empty()) return tell(Error{"every channel is switched off; name one to try it: " + known}, kFailed);
  return tell(Error{"no channel \"" + name + "\"; there are: " + known}, kUsage);
}

int try_channels(const CommandContext& context, const std::string& name) {
  const auto settings = load_or_tell(context);
  if (!settings) return kBadConfig;
  const std::vector<ChannelSettings> channels = chosen(*settings, name);
  if (channels.empty()) return tell_none(*settings, name);
  bool all = true;
  for (const ChannelSettings& channel : channels) {
    const Tried tried = try_one(channel, settings->journal);
    print(tried, context.json);
    all = all && tried.delivery.outcome == Outcome::delivered;
  }
  return all ? kFine : kFailed;
}

int list_channels(const CommandContext& context) {
  const auto settings = load_or_tell(context);
  if (!settings) return kBadConfig;
  for (const ChannelSettings& channel : settings->channels) {
    if (context.json) {
      const nlohmann::ordered_json line{{"channel", channel.name}, {"kind", channel.kind}, {"enabled", channel.enabled}};
      write_json(stdout, line.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace) + "\n");
    } else {
      print_out("%-16s  %-8s  %s\n", channel.name.c_str(), channel.kind.c_str(), channel.enabled ? "on" : "off");
    }
  }
  return kFine;
}

void add_list(CLI::App& channels, CommandContext& context) {
  CLI::App* list = channels.add_subcommand("list", "Show the configured channels: name, kind, on or off");
  add_common(*list, context);
  list->callback([&context] { context.exit = list_channels(context); });
}

}  // namespace

void add_channels(CLI::App& root, CommandContext& context) {
  auto name = std::make_shared<std::string>();
  CLI::App* command = root.add_subcommand("channels", "List and try the channels for notices");
  command->require_subcommand(1);
  CLI::App* attempt = command->add_subcommand("try", "Send a test message and show what the other side answers");
  add_common(*attempt, context);
  attempt->add_option("name", *name, "One channel's name, also one that is switched off (default: all that are on)")
      ->type_name("NAME");
  attempt->footer(
      "Ends with 0 when every message was delivered, else with 1. Passwords come from where the configuration says and\n"
      "are never shown.\n\nExample:\n  brimwatch channels try mail");
  add_list(*command, context);
  attempt->callback([name, &context] { context.exit = try_channels(context, *name); });
}

}  // namespace brimwatch
