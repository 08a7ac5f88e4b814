#include "app/inside/page_service.h"

#include <utility>

#include "config/address.h"
#include "loop/clock.h"

namespace brimwatch {

void PageService::show() {
  const PageSettings wanted = house_.desk().settings().page;
  draw_pictures(wanted);
  know_devices(wanted);
  if (wanted == shown_ && page_ != nullptr) return renew_keys(wanted);
  page_.reset();
  shown_ = wanted;
  if (!wanted.on) return;
  auto opened = StatusPage::open(loop_, wanted.port, wanted.everybody, source());
  if (!opened) return world_.trouble(LogLevel::error, "status page: " + opened.error().text + "; it is not shown");
  page_ = std::move(*opened);
  world_.say(LogLevel::info, "status page: " + page_->address());
  open_to_devices(wanted);
}

StatusPage::Source PageService::source() {
  StatusPage::Source source;
  source.snapshot = world_.snapshot;
  source.offset = [this] { return house_.offset(); };
  source.base = [this](std::string_view symbol) {
    const auto found = pictures_.find(symbol);
    return found == pictures_.end() ? std::string() : found->second;
  };
  source.day = [this](std::string_view symbol) { return house_.day_of(symbol); };
  source.days = [this] { return house_.days(); };
  source.steady = steady_now;
  source.aside = chores_.aside();
  source.post = world_.answer;
  source.devices = [this](const WebRequest& request, const auto& reply) { return devices_.answer(request, reply); };
  source.visitor = [this](std::string_view cookie) { return devices_.visitor(cookie); };
  return source;
}

void PageService::know_devices(const PageSettings& wanted) {
  bool pushes = false;
  for (const ChannelSettings& channel : house_.desk().settings().channels)
    pushes = pushes || (channel.enabled && channel.kind == "push");
  const bool open = wanted.on && !wanted.listen.empty();
  devices_.know(open ? address_to_show(wanted.address) : "", pushes);
}

void PageService::open_to_devices(const PageSettings& wanted) {
  keys_.reset();
  if (wanted.listen.empty()) return;
  if (wanted.certificate.empty()) return serve_devices(wanted);
  read_keys(wanted, "it is not served there", [this, wanted](std::shared_ptr<TlsKeys> keys) {
    keys_ = std::move(keys);
    serve_devices(wanted);
  });
}

void PageService::serve_devices(const PageSettings& wanted) {
  if (page_ == nullptr || wanted != shown_) return;
  const auto end = parse_listen(wanted.listen);
  const std::string address = address_to_show(wanted.address);
  const auto opened =
      page_->open_to_devices(loop_, {end->port, end->host, address.substr(address.find("//") + 2), keys_});
  if (!opened)
    return world_.trouble(LogLevel::error,
                          "status page for devices: " + opened.error().text + "; it is not served there");
  world_.say(LogLevel::info, "status page for devices: " + address + ", on " + wanted.listen);
}

/// At every reload: a certificate is renewed under the same name.
void PageService::renew_keys(const PageSettings& wanted) {
  if (keys_ == nullptr) return wanted.listen.empty() ? void() : open_to_devices(wanted);
  read_keys(wanted, "the old certificate stays", [this](const std::shared_ptr<TlsKeys>& keys) {
    if (keys_ != nullptr) keys_->take(*keys);
  });
}

void PageService::read_keys(const PageSettings& wanted, const std::string& otherwise,
                            std::function<void(std::shared_ptr<TlsKeys>)> then) {
  const auto refuse = [this, otherwise](const std::string& why) {
    world_.trouble(LogLevel::error, "status page for devices: " + why + "; " + otherwise);
  };
  chores_.start(
      [wanted, refuse, then = std::move(then)]() -> Worker::Answer {
        auto keys = TlsKeys::load(wanted.certificate, wanted.key);
        if (!keys) return [refuse, why = keys.error().text] { refuse(why); };
        return [then, keys = std::move(*keys)] { then(keys); };
      },
      refuse);
}

/// A weekend's new bars come with its new list.
void PageService::draw_pictures(const PageSettings& wanted) {
  if (!wanted.on) return pictures_.clear();
  const auto settings = std::make_shared<Settings>(house_.desk().settings());
  chores_.start(
      [this, settings]() -> Worker::Answer {
        return [this, drawn = std::make_shared<BasePictures>(draw_bases(*settings))] { pictures_ = std::move(*drawn); };
      },
      [this](const std::string& why) {
        world_.trouble(LogLevel::warning, "pictures of bases: " + why + "; none are shown");
      });
}

}  // namespace brimwatch
