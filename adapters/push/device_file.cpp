#include "adapters/push/device_file.h"

#include "adapters/push/base64url.h"
#include "config/address.h"
#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr int kVersion = 1;
constexpr std::size_t kEndpointMost = 2048;

std::string text_at(const OrderedJson& object, const char* key) {
  const auto found = object.is_object() ? object.find(key) : object.end();
  return object.is_object() && found != object.end() && found->is_string() ? found->get<std::string>() : std::string();
}

Timestamp time_at(const OrderedJson& object, const char* key) {
  const auto found = object.find(key);
  return Timestamp{found != object.end() && found->is_number_integer() ? found->get<std::int64_t>() * kSecond : 0};
}

OrderedJson subscription_json(const PushSubscription& one) {
  return {{"endpoint", one.endpoint}, {"keys", {{"p256dh", base64url(one.public_key)}, {"auth", base64url(one.auth)}}}};
}

OrderedJson device_json(const Device& device) {
  OrderedJson push = OrderedJson::array();
  for (const PushSubscription& one : device.push) push.push_back(subscription_json(one));
  return {{"id", device.id},
          {"name", device.name},
          {"right", to_string(device.right)},
          {"cookie_sha256", device.cookie_hash},
          {"paired", device.paired.ns / kSecond},
          {"seen", device.seen.ns / kSecond},
          {"push", std::move(push)}};
}

bool is_endpoint(const std::string& text) {
  const auto address = parse_address(text);
  if (!address || address->has_user || text.size() > kEndpointMost || clean_line(text, kEndpointMost) != text)
    return false;
  return address->scheme == "https" || (address->scheme == "http" && is_loopback(*address));
}

Result<PushSubscription> subscription_from(const OrderedJson& json) {
  const OrderedJson keys = json.is_object() ? json.value("keys", OrderedJson::object()) : OrderedJson::object();
  const auto key = from_base64url(text_at(keys, "p256dh")), auth = from_base64url(text_at(keys, "auth"));
  PushSubscription out{text_at(json, "endpoint"), key.value_or(""), auth.value_or("")};
  if (!is_endpoint(out.endpoint)) return fail("endpoint: found no address of a push service, expected https://...");
  if (!is_p256_point(out.public_key))
    return fail("keys: p256dh: found no public key of the curve P-256, expected 65 bytes");
  if (out.auth.size() != 16) return fail("keys: auth: expected 16 bytes");
  return out;
}

Result<Device> device_from(const OrderedJson& json) {
  if (!json.is_object()) return fail("found a device that is no object");
  const auto right = device_right_of(text_at(json, "right"));
  Device device{text_at(json, "id"),
                clean_line(text_at(json, "name"), 60),
                right.value_or(DeviceRight::none),
                text_at(json, "cookie_sha256"),
                time_at(json, "paired"),
                time_at(json, "seen"),
                {}};
  if (device.id.empty() || !right) return fail("found a device without an id, or whose right is neither look nor answer");
  for (const OrderedJson& one : json.value("push", OrderedJson::array())) {
    auto subscription = subscription_from(one);
    if (!subscription) return tl::unexpected(subscription.error());
    device.push.push_back(std::move(*subscription));
  }
  return device;
}

}  // namespace

std::string to_text(const DeviceBook& book) {
  OrderedJson devices = OrderedJson::array();
  for (const Device& device : book.devices) devices.push_back(device_json(device));
  return OrderedJson{{"version", kVersion}, {"push_key", base64url(book.push_key)}, {"devices", std::move(devices)}}.dump(
             1, ' ', false, OrderedJson::error_handler_t::replace) +
         "\n";
}

Result<DeviceBook> device_book_of(std::string_view text) {
  const OrderedJson json = OrderedJson::parse(text, nullptr, false);
  if (!json.is_object() || json.value("version", OrderedJson()) != OrderedJson(kVersion))
    return fail("found no list of devices of version 1");
  DeviceBook book;
  book.push_key = from_base64url(text_at(json, "push_key")).value_or("");
  const OrderedJson devices = json.value("devices", OrderedJson::array());
  for (const OrderedJson& one : devices) {
    auto device = device_from(one);
    if (!device) return tl::unexpected(device.error());
    book.devices.push_back(std::move(*device));
  }
  return book;
}

Result<PushSubscription> subscription_of(std::string_view json) {
  if (json.size() > 8192) return fail("a subscription is shorter than that");
  return subscription_from(OrderedJson::parse(json, nullptr, false));
}

}  // namespace brimwatch
