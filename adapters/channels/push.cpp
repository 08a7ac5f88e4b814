// Web Push (RFC 8030): to every browser that asked for it on the page, by the push service of its maker, who can read
// nothing of it. A newer message about a watch takes the place of one that has not arrived yet; a browser that is gone is
// forgotten. The same message never goes twice to one that has it, however often another is tried again.
#include <algorithm>
#include <chrono>
#include <deque>
#include <set>

#include "adapters/channels/http_exchange.h"
#include "adapters/channels/makers.h"
#include "adapters/channels/push_text.h"
#include "adapters/push/sealed.h"
#include "adapters/push/vapid.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kRememberedMost = 256;  ///< messages; the oldest is forgotten

/// Which browsers have which message.
class PushedTo {
 public:
  std::set<std::string>& of(const std::string& id) {
    const auto found = std::find_if(all_.begin(), all_.end(), [&](const auto& one) { return one.first == id; });
    if (found != all_.end()) return found->second;
    if (all_.size() >= kRememberedMost) all_.pop_front();
    return all_.emplace_back(id, std::set<std::string>()).second;
  }

 private:
  std::deque<std::pair<std::string, std::set<std::string>>> all_;
};

/// What became of it at all of them.
struct Sum {
  int delivered = 0, retry = 0, unknown = 0, dead = 0, gone = 0;
  std::string trouble;  ///< the last one's words
  std::optional<std::chrono::seconds> retry_after{};

  void add(const std::string& device, const Delivery& one) {
    if (one.outcome == Outcome::delivered) return void(++delivered);
    (one.outcome == Outcome::retry ? retry : one.outcome == Outcome::unknown ? unknown : dead) += 1;
    trouble = device + ": " + one.reply;
    if (one.retry_after) retry_after = std::max(retry_after.value_or(std::chrono::seconds{0}), *one.retry_after);
  }
  [[nodiscard]] Outcome outcome() const {
    if (retry > 0) return Outcome::retry;
    if (unknown > 0) return Outcome::unknown;
    return delivered > 0 ? Outcome::delivered : Outcome::dead;
  }
  [[nodiscard]] std::string words() const {
    const int all = delivered + retry + unknown + dead + gone;
    std::string out = std::to_string(delivered) + " of " + std::to_string(all) + (all == 1 ? " browser" : " browsers");
    if (gone > 0) out += ", " + std::to_string(gone) + " gone and forgotten";
    return trouble.empty() ? out : out + "; " + trouble;
  }
};

class Push final : public Channel {
 public:
  Push(ChannelSettings settings, const ChannelContext& context)
      : settings_(std::move(settings)), devices_(context.devices), now_(context.now) {}

  Delivery send(const Message& message) override {
    if (devices_ == nullptr) return {Outcome::dead, "the list of devices cannot be read", std::nullopt};
    const std::vector<Devices::Target> targets = devices_->targets();
    if (targets.empty()) {
      return {Outcome::dead, "no browser has asked for it yet: open the page there and say \"Notify this device\"",
              std::nullopt};
    }
    const auto key = devices_->push_key();
    if (!key) return {Outcome::retry, key.error().text, std::nullopt};
    const auto end = std::chrono::steady_clock::now() + settings_.timeout;
    const std::string text = push_text(message);
    std::set<std::string>& have = pushed_.of(message.id);
    Sum sum;
    for (std::size_t n = 0; n < targets.size(); ++n) {
      const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - std::chrono::steady_clock::now());
      const auto share = left / static_cast<int>(targets.size() - n);
      send_one(message, text, targets[n], *key, std::max(share, std::chrono::milliseconds(500)), have, sum);
    }
    return {sum.outcome(), sum.words(), sum.retry_after};
  }

 private:
  void send_one(const Message& message, const std::string& text, const Devices::Target& target, const P256& key,
                std::chrono::milliseconds timeout, std::set<std::string>& have, Sum& sum) {
    if (have.contains(target.subscription.endpoint)) return void(++sum.delivered);
    const auto sending = sending_of(message, text, target.subscription, key, timeout);
    if (!sending) return sum.add(target.device, {Outcome::dead, sending.error().text, std::nullopt});
    const HttpReceived received = exchange(*sending, settings_);
    if (received.status == 404 || received.status == 410) {
      ++sum.gone;
      if (const Status forgotten = devices_->unsubscribe(target.subscription.endpoint); !forgotten)
        sum.trouble = forgotten.error().text;
      return;
    }
    const Delivery delivery = delivery_of(received, now_());
    if (delivery.outcome == Outcome::delivered) have.insert(target.subscription.endpoint);
    sum.add(target.device, delivery);
  }

  [[nodiscard]] Result<HttpSending> sending_of(const Message& message, const std::string& text,
                                               const PushSubscription& to, const P256& key,
                                               std::chrono::milliseconds timeout) const {
    if (const auto fine = check_web_address(to.endpoint, settings_.insecure_loopback); !fine)
      return tl::unexpected(fine.error());
    auto sealed = sealed_for(text, to.public_key, to.auth);
    if (!sealed) return tl::unexpected(sealed.error());
    const auto who = vapid_authorization(key, to.endpoint, settings_.contact, now_());
    if (!who) return tl::unexpected(who.error());
    const PushTerms terms = push_terms(message, settings_.expire_urgent, now_(), key.private_bytes());
    HttpSending sending;
    sending.url = to.endpoint;
    sending.timeout = timeout;
    sending.body = std::move(*sealed);
    sending.headers = {"Authorization: " + *who,
                       "TTL: " + std::to_string(terms.time_to_live.count()),
                       std::string("Urgency: ") + (terms.urgent ? "high" : "normal"),
                       "Topic: " + terms.topic,
                       "Content-Encoding: aes128gcm",
                       "Content-Type: application/octet-stream",
                       "Expect:"};
    return sending;
  }

  ChannelSettings settings_;
  std::shared_ptr<Devices> devices_;
  std::function<std::chrono::sys_seconds()> now_;
  PushedTo pushed_;
};

}  // namespace

Result<std::unique_ptr<Channel>> make_push(const ChannelSettings& settings, const ChannelContext& context) {
  return std::make_unique<Push>(settings, context);
}

}  // namespace brimwatch
