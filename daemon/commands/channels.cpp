// brimwatch channels: list them; or try them: a test message through every channel, and what the other side says to it.
#include <chrono>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "adapters/channels/table.h"
#include "adapters/channels/test_message.h"
#include "commands/command.h"
#include "commands/load.h"
#include "commands/sample_message.h"
#include "config/paths.h"
#include "core/text/json.h"
#include "desk/channel_plans.h"
#include "desk/notice_pictures.h"
#include "loop/clock.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct Tried {
  std::string name, kind;
  Delivery delivery;
  double seconds = 0;
};

/// As the daemon has them; nothing of them is changed here. Null where they cannot be read: the channel says so.
std::shared_ptr<Devices> devices_of(const std::string& journal) {
  auto devices = Devices::open(devices_file(journal.empty() ? places().journal() : journal), false);
  return devices ? std::move(*devices) : nullptr;
}

/// The plain test, or a notice of that kind as it would look, with a picture where the channel shows one.
Delivery send_test(std::unique_ptr<Channel> channel, const ChannelSettings& settings, std::optional<NoticeKind> sample,
                   std::chrono::sys_seconds now) {
  const std::chrono::seconds offset = local_offset(settings.quiet.zone)({now.time_since_epoch().count() * kSecond});
  if (!sample) return channel->send(test_message(settings.name, now, offset));
  const SampleMessage made = sample_message(*sample, settings.name, now, offset);
  if (!shows_pictures(settings)) return channel->send(made.message);
  const auto shelf = std::make_shared<PictureShelf>();
  shelf->put(made.message.id, made.picture);
  return pictured(std::move(channel), shelf, picture_use(settings))->send(made.message);
}

Tried try_one(const ChannelSettings& settings, std::optional<NoticeKind> sample, const std::string& journal) {
  ChannelContext context = default_context();
  if (settings.kind == "push") context.devices = devices_of(journal);
  const Nanos start = steady_now();
  Tried tried{settings.name, settings.kind, {}, 0};
  if (auto channel = make_channel(settings, context)) {
    tried.delivery = send_test(std::move(*channel), settings, sample, context.now());
  } else {
    tried.delivery = {Outcome::dead, channel.error().text, std::nullopt};
  }
  tried.seconds = static_cast<double>(steady_now() - start) / static_cast<double>(kSecond);
  return tried;
}

void print(const Tried& tried, bool json) {
  if (!json) {
    print_out("%-16s %-8s %s (%.1f s): %s\n", tried.name.c_str(), tried.kind.c_str(),
              std::string(words_of(tried.delivery)).c_str(), tried.seconds, tried.delivery.reply.c_str());
  } else {
    const OrderedJson line{{"channel", tried.name},
                           {"kind", tried.kind},
                           {"delivered", tried.delivery.outcome == Outcome::delivered},
                           {"outcome", words_of(tried.delivery)},
                           {"reply", tried.delivery.reply},
                           {"seconds", tried.seconds}};
    write_json(stdout, json_line(line));
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

int try_channels(const CommandContext& context, const std::string& name, std::optional<NoticeKind> sample) {
  const auto settings = load_or_tell(context);
  if (!settings) return kBadConfig;
  const std::vector<ChannelSettings> channels = chosen(*settings, name);
  if (channels.empty()) return tell_none(*settings, name);
  bool all = true;
  for (const ChannelSettings& channel : channels) {
    const Tried tried = try_one(channel, sample, settings->journal);
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
      const OrderedJson line{{"channel", channel.name}, {"kind", channel.kind}, {"enabled", channel.enabled}};
      write_json(stdout, json_line(line));
    } else {
      print_out("%-16s  %-8s  %s\n", channel.name.c_str(), channel.kind.c_str(), channel.enabled ? "on" : "off");
    }
  }
  return kFine;
}

std::vector<std::string> kind_words() {
  std::vector<std::string> words;
  for (int i = 0; i < kNoticeKinds; ++i) words.emplace_back(to_string(static_cast<NoticeKind>(i)));
  return words;
}

void add_list(CLI::App& channels, CommandContext& context) {
  CLI::App* list = channels.add_subcommand("list", "Show the configured channels: name, kind, on or off");
  add_common(*list, context);
  list->callback([&context] { context.exit = list_channels(context); });
}

}  // namespace

void add_channels(CLI::App& root, CommandContext& context) {
  struct Arguments {
    std::string name, sample;
  };
  auto arguments = std::make_shared<Arguments>();
  CLI::App* command = root.add_subcommand("channels", "List and try the channels for notices");
  command->require_subcommand(1);
  CLI::App* attempt = command->add_subcommand("try", "Send a test message and show what the other side answers");
  add_common(*attempt, context);
  attempt
      ->add_option("name", arguments->name,
                   "One channel's name, also one that is switched off (default: all that are on)")
      ->type_name("NAME");
  attempt
      ->add_option("--sample", arguments->sample,
                   "Send a sample notice of this kind, with picture and urgency, about an invented stock")
      ->check(CLI::IsMember(kind_words()))
      ->type_name("KIND");
  attempt->footer(
      "Exits with 0 when every message was delivered, otherwise with 1. Passwords come from where the configuration says "
      "and are never shown.\n\nExamples:\n  brimwatch channels try mail\n  brimwatch channels try --sample crossed");
  add_list(*command, context);
  attempt->callback([arguments, &context] {
    context.exit = try_channels(context, arguments->name, notice_kind_of(arguments->sample));
  });
}

}  // namespace brimwatch
