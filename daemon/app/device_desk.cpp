#include "app/device_desk.h"

#include "adapters/push/base64url.h"
#include "adapters/push/p256.h"
#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr const char* kJsonType = "application/json";
constexpr const char* kDeviceName = "phone";
/// The longest that browsers keep a cookie (RFC 6265bis, section 5.5).
constexpr const char* kCookieTerms = "; Path=/; Max-Age=34560000; Secure; HttpOnly; SameSite=Strict";

std::string error_line(const std::string& why) { return json_line({{"error", why}}); }
WebReply refused(int status, const std::string& why) { return {status, kJsonType, error_line(why)}; }

/// The text of a member of one flat object; empty where there is none.
std::string member_of(std::string_view text, const char* name) {
  if (text.size() > 8192) return {};
  const auto json = OrderedJson::parse(text, nullptr, false);
  if (!json.is_object()) return {};
  const auto found = json.find(name);
  return found != json.end() && found->is_string() ? found->get<std::string>() : std::string();
}

OrderedJson device_row(const Device& device) {
  return {{"id", device.id},
          {"name", device.name},
          {"right", to_string(device.right)},
          {"paired", to_rfc3339(device.paired)},
          {"seen", to_rfc3339(device.seen)},
          {"push", device.push.size()}};
}

}  // namespace

DeviceDesk::DeviceDesk(const std::string& file, World world) : world_(std::move(world)) {
  auto opened = Devices::open(file);
  if (opened) devices_ = std::move(*opened);
  else trouble_ = opened.error().text;
  if (!opened) world_.say(LogLevel::error, "devices: " + trouble_);
}

Visitor DeviceDesk::visitor(std::string_view cookie) const {
  return devices_ == nullptr ? Visitor{} : devices_->visitor(cookie, world_.wall());
}

void DeviceDesk::know(std::string address, bool pushes) {
  address_ = std::move(address);
  pushes_ = pushes;
}

bool DeviceDesk::answer(const WebRequest& request, const Reply& reply) {
  const bool nobody = request.visitor.right == DeviceRight::none;
  if (!request.post && request.path == "/device") return who_am_i(request, reply), true;
  if (request.post && request.path == "/pair") return pair(request, reply), true;
  if (nobody || !request.post) return false;
  if (request.path == "/push") return subscribe(request, reply), true;
  if (request.path == "/push/off") return unsubscribe(request, reply), true;
  return false;
}

void DeviceDesk::off_the_loop(std::function<Result<std::string>()> work,
                              std::function<void(Result<std::string>)> then) const {
  const auto result = std::make_shared<Result<std::string>>(fail("it was not done"));
  world_.aside([result, work = std::move(work)] { *result = work(); },
               [result, then = std::move(then)] { then(std::move(*result)); });
}

void DeviceDesk::who_am_i(const WebRequest& request, const Reply& reply) const {
  const OrderedJson who{{"right", to_string(request.visitor.right)}, {"name", request.visitor.name}};
  if (!pushes_ || devices_ == nullptr || request.visitor.right == DeviceRight::none)
    return reply({200, kJsonType, json_line(who)});
  off_the_loop(
      [devices = devices_]() -> Result<std::string> {
        const auto key = devices->push_key();
        if (!key) return tl::unexpected(key.error());
        return base64url(key->public_bytes());
      },
      [who, reply](const Result<std::string>& key) {
        OrderedJson all = who;
        if (key) all["push_key"] = *key;
        reply({200, kJsonType, json_line(all)});
      });
}

void DeviceDesk::pair(const WebRequest& request, const Reply& reply) {
  if (request.visitor.right != DeviceRight::none) return reply({200, kJsonType, json_line({{"done", "paired already"}})});
  const auto offer = pairing_.take(member_of(request.body, "code"), world_.steady());
  if (!offer || devices_ == nullptr) {
    world_.say(LogLevel::warning, "a device asked to be paired with a code that is not good");
    return reply(refused(403, "This code is not good, or not any more. Ask for a new one: brimwatch page pair"));
  }
  off_the_loop(
      [devices = devices_, offer = *offer, now = world_.wall()] { return devices->add(offer.name, offer.right, now); },
      [this, offer = *offer, reply](const Result<std::string>& cookie) {
        if (!cookie) return reply(refused(500, cookie.error().text));
        world_.say(LogLevel::info, "device \"" + clean_line(offer.name, 40) + "\" is paired, with the right to " +
                                       std::string(to_string(offer.right)));
        WebReply paired{200, kJsonType, json_line({{"done", "paired"}})};
        paired.cookie = *cookie + kCookieTerms;
        reply(paired);
      });
}

void DeviceDesk::subscribe(const WebRequest& request, const Reply& reply) const {
  if (!pushes_) return reply(refused(409, "no push channel is configured: [[channel]] kind = \"push\""));
  if (devices_ == nullptr) return reply(refused(500, trouble_));
  auto subscription = subscription_of(request.body);
  if (!subscription) return reply(refused(400, subscription.error().text));
  off_the_loop(
      [devices = devices_, id = request.visitor.id, subscription = *subscription,
       now = world_.wall()]() -> Result<std::string> {
        if (const Status kept = devices->subscribe(id, subscription, now); !kept) return tl::unexpected(kept.error());
        return "subscribed";
      },
      [reply](const Result<std::string>& done) {
        reply(done ? WebReply(200, kJsonType, json_line({{"done", *done}})) : refused(500, done.error().text));
      });
}

void DeviceDesk::unsubscribe(const WebRequest& request, const Reply& reply) const {
  if (devices_ == nullptr) return reply(refused(500, trouble_));
  off_the_loop(
      [devices = devices_, endpoint = member_of(request.body, "endpoint")]() -> Result<std::string> {
        if (const Status kept = devices->unsubscribe(endpoint); !kept) return tl::unexpected(kept.error());
        return "unsubscribed";
      },
      [reply](const Result<std::string>& done) {
        reply(done ? WebReply(200, kJsonType, json_line({{"done", *done}})) : refused(500, done.error().text));
      });
}

bool DeviceDesk::ask(std::string_view request, const Tell& tell) {
  const std::string what = member_of(request, "ask");
  if (what == "pair") return tell(offer(member_of(request, "name"), member_of(request, "right"))), true;
  if (what == "devices") return tell(list()), true;
  if (what == "revoke") return revoke(member_of(request, "device"), tell), true;
  return false;
}

std::string DeviceDesk::offer(std::string_view name, std::string_view right) {
  if (!trouble_.empty()) return error_line(trouble_);
  if (address_.empty()) {
    return error_line(
        "the page is not open to devices: set listen and address in [page], then reload (`brimwatch check`)");
  }
  const auto wanted = device_right_of(right.empty() ? "look" : right);
  if (!wanted) return error_line("right: found \"" + clean_line(right, 40) + "\", expected look or answer");
  const auto random = random_bytes(Pairing::kRandomBytes);
  if (!random) return error_line(random.error().text);
  Pairing::Offer offered{clean_line(name.empty() ? kDeviceName : name, 40), *wanted};
  const std::string code = pairing_.offer(offered, *random, world_.steady());
  return json_line({{"code", code},
                    {"address", address_},
                    {"link", address_ + "/pair#" + code},
                    {"name", offered.name},
                    {"right", to_string(*wanted)},
                    {"minutes", Pairing::kGoodFor / kMinute}});
}

std::string DeviceDesk::list() const {
  if (devices_ == nullptr) return error_line(trouble_);
  OrderedJson rows = OrderedJson::array();
  for (const Device& device : devices_->all()) rows.push_back(device_row(device));
  return json_line({{"devices", std::move(rows)}});
}

void DeviceDesk::revoke(std::string_view which, const Tell& tell) const {
  if (devices_ == nullptr) return tell(error_line(trouble_));
  off_the_loop([devices = devices_, which = std::string(which)] { return devices->revoke(which); },
               [say = world_.say, tell](const Result<std::string>& name) {
                 if (!name) return tell(error_line(name.error().text));
                 say(LogLevel::info, "device \"" + *name + "\" is revoked");
                 tell(json_line({{"done", "revoked"}, {"name", *name}}));
               });
}

}  // namespace brimwatch
