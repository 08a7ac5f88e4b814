#include "adapters/channels/table.h"

#include <exception>
#include <utility>

#include "adapters/channels/makers.h"
#include "config/secret.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

struct Entry {
  std::string_view kind;
  MakeChannel make;
  bool drops_doubles = false;
};

constexpr Entry kTable[] = {
    {"console", make_console}, {"desktop", make_desktop}, {"email", make_email}, {"webhook", make_webhook, true},
    {"command", make_command}, {"push", make_push, true}, {"mqtt", make_mqtt},
};

/// What holds for every channel: no exception leaves it, and the other side's words are shown as one clean line.
class Guarded final : public Channel {
 public:
  explicit Guarded(std::unique_ptr<Channel> inner) : inner_(std::move(inner)) {}

  Delivery send(const Message& message) override {
    Delivery delivery;
    try {
      delivery = inner_->send(message);
    } catch (const std::exception& error) {
      delivery = {Outcome::retry, std::string("internal error: ") + error.what(), std::nullopt};
    }
    delivery.reply = clean_line(delivery.reply, 300);
    return delivery;
  }

 private:
  std::unique_ptr<Channel> inner_;
};

/// One that cannot even be made (its library is not there) is refused in words, as one that is configured wrongly.
Result<std::unique_ptr<Channel>> made_by(MakeChannel make, const ChannelSettings& settings,
                                         const ChannelContext& context) {
  try {
    return make(settings, context);
  } catch (const std::exception& error) {
    return fail(error.what());
  }
}

std::string allowed_kinds() {
  std::string all;
  for (const Entry& entry : kTable) all.append(all.empty() ? "" : ", ").append(entry.kind);
  return all;
}

}  // namespace

Result<std::unique_ptr<Channel>> make_channel(const ChannelSettings& settings, const ChannelContext& context) {
  for (const Entry& entry : kTable) {
    if (entry.kind != settings.kind) continue;
    auto made = made_by(entry.make, settings, context);
    if (!made) return fail("channel \"" + clean_line(settings.name, 60) + "\": " + made.error().text);
    return std::make_unique<Guarded>(std::move(*made));
  }
  return fail("channel \"" + clean_line(settings.name, 60) + "\": kind: found \"" + clean_line(settings.kind, 60) +
              "\", expected one of " + allowed_kinds());
}

Result<std::unique_ptr<Channel>> make_channel(const ChannelSettings& settings) {
  return make_channel(settings, default_context());
}

std::vector<std::string> objections_to(const ChannelSettings& settings) {
  for (const Entry& entry : kTable) {
    if (entry.kind != settings.kind) continue;
    const auto made = made_by(entry.make, settings, default_context());
    return made ? std::vector<std::string>() : std::vector{clean_line(made.error().text, 400)};
  }
  return {"kind: found \"" + clean_line(settings.kind, 60) + "\", expected one of " + allowed_kinds()};
}

ChannelContext default_context() {
  ChannelContext context;
  context.secret = [](const SecretSource& source) { return read_secret(source); };
  context.now = [] { return std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()); };
  return context;
}

std::vector<std::string_view> channel_kinds() {
  std::vector<std::string_view> kinds;
  for (const Entry& entry : kTable) kinds.push_back(entry.kind);
  return kinds;
}

bool drops_doubles(std::string_view kind) {
  for (const Entry& entry : kTable) {
    if (entry.kind == kind) return entry.drops_doubles;
  }
  return false;
}

}  // namespace brimwatch
