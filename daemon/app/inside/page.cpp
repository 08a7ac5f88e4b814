// The status page: on this machine, and for paired devices.
#include "adapters/net/tls_keys.h"
#include "app/inside/impl.h"
#include "config/address.h"

namespace brimwatch {

/// As the settings want it. A port that cannot be had costs the page, never the notices.
void Daemon::Impl::show_page() {
  const PageSettings wanted = house->desk().settings().page;
  draw_pictures(wanted);
  know_devices(wanted);
  if (wanted == shown && page != nullptr) return renew_keys(wanted);
  page.reset();
  shown = wanted;
  if (!wanted.on) return;
  auto opened = StatusPage::open(
      io, wanted.port, wanted.everybody,
      {[this] { return snapshot(); }, [this] { return house->offset(); },
       [this](std::string_view symbol) {
         const auto found = base_pictures.find(symbol);
         return found == base_pictures.end() ? std::string() : found->second;
       },
       [this](std::string_view symbol) { return house->day_of(symbol); }, [this] { return house->days(); }, steady_now,
       [this](auto work, auto then) { run_aside(std::move(work), std::move(then)); },
       [this](const WebRequest& request, auto reply) { answer_page(request, std::move(reply)); },
       [this](const WebRequest& request, const auto& reply) { return devices.answer(request, reply); },
       [this](std::string_view cookie) { return devices.visitor(cookie); }});
  if (!opened)
    return log.trouble(LogLevel::error, "status page: " + opened.error().text + "; it is not shown", wall_now());
  page = std::move(*opened);
  log.say(LogLevel::info, "status page: " + page->address());
  open_to_devices(wanted);
}

void Daemon::Impl::know_devices(const PageSettings& wanted) {
  bool pushes = false;
  for (const ChannelSettings& channel : house->desk().settings().channels)
    pushes = pushes || (channel.enabled && channel.kind == "push");
  const bool open = wanted.on && !wanted.listen.empty();
  devices.know(open ? address_to_show(wanted.address) : "", pushes);
}

/// The page for paired devices. What is wrong with it costs that, and nothing else.
void Daemon::Impl::open_to_devices(const PageSettings& wanted) {
  page_keys.reset();
  if (wanted.listen.empty()) return;
  if (wanted.certificate.empty()) return serve_devices(wanted);
  read_keys(wanted, "it is not served there", [this, wanted](std::shared_ptr<TlsKeys> keys) {
    page_keys = std::move(keys);
    serve_devices(wanted);
  });
}

void Daemon::Impl::serve_devices(const PageSettings& wanted) {
  if (page == nullptr || wanted != shown) return;
  const auto end = parse_listen(wanted.listen);
  const std::string address = address_to_show(wanted.address);
  const auto opened =
      page->open_to_devices(io, {end->port, end->host, address.substr(address.find("//") + 2), page_keys});
  if (!opened)
    return trouble(LogLevel::error, "status page for devices: " + opened.error().text + "; it is not served there");
  log.say(LogLevel::info, "status page for devices: " + address + ", on " + wanted.listen);
}

/// At every reload: a certificate is renewed under the same name.
void Daemon::Impl::renew_keys(const PageSettings& wanted) {
  if (page_keys == nullptr) return wanted.listen.empty() ? void() : open_to_devices(wanted);
  read_keys(wanted, "the old certificate stays", [this](const std::shared_ptr<TlsKeys>& keys) {
    if (page_keys != nullptr) page_keys->take(*keys);
  });
}

void Daemon::Impl::read_keys(const PageSettings& wanted, const std::string& otherwise,
                             std::function<void(std::shared_ptr<TlsKeys>)> then) {
  const auto refuse = [this, otherwise](const std::string& why) {
    trouble(LogLevel::error, "status page for devices: " + why + "; " + otherwise);
  };
  start_chore(
      [wanted, refuse, then = std::move(then)]() -> Worker::Answer {
        auto keys = TlsKeys::load(wanted.certificate, wanted.key);
        if (!keys) return [refuse, why = keys.error().text] { refuse(why); };
        return [then, keys = std::move(*keys)] { then(keys); };
      },
      refuse);
}

/// At the start and at a reload: a weekend's new bars come with its new list.
void Daemon::Impl::draw_pictures(const PageSettings& wanted) {
  if (!wanted.on) return base_pictures.clear();
  const auto settings = std::make_shared<Settings>(house->desk().settings());
  start_chore(
      [this, settings]() -> Worker::Answer {
        return
            [this, drawn = std::make_shared<BasePictures>(draw_bases(*settings))] { base_pictures = std::move(*drawn); };
      },
      [this](const std::string& why) { trouble(LogLevel::warning, "pictures of bases: " + why + "; none are shown"); });
}

}  // namespace brimwatch
