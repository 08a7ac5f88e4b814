#include "adapters/feeds/connections/stream.h"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdio>
#include <set>
#include <utility>

#include "adapters/feeds/backoff.h"
#include "adapters/feeds/intake.h"
#include "adapters/feeds/template.h"
#include "adapters/net/websocket.h"
#include "config/address.h"
#include "config/secret.h"
#include "config/told_reason.h"
#include "core/text/retry_after.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr std::size_t kUnsentMost = 256 * 1024;

bool has_rule(const FeedSettings& settings, std::string_view kind) {
  return std::any_of(settings.rules.begin(), settings.rules.end(), [&](const auto& rule) { return rule.kind == kind; });
}

/// The other side does not want us, now or at all, or is not where we look for it: to hurry back would make it worse.
bool is_refusal(const WebSocketEnd& end) {
  constexpr int kPolicy = 1008, kTryLater = 1013;
  return (end.http_status >= 300 && end.http_status < 500) || end.http_status == 503 || end.close_code == kPolicy ||
         end.close_code == kTryLater;
}

class StreamFeed : public Feed {
 public:
  StreamFeed(const FeedSettings& settings, const FeedContext& context, Decoder decoder)
      : settings_(settings),
        context_(context),
        intake_(settings, context, std::move(decoder)),
        forms_(symbol_forms(settings)),
        waits_for_yes_(has_rule(settings, "accepted")),
        timer_(context.io),
        ping_timer_(context.io),
        alive_(std::make_shared<bool>(true)) {}

  void start(FeedListener& listener) override {
    intake_.attach(&listener);
    wanted_on_ = true;
    wait_and_connect(0);
  }

  void stop() override {
    wanted_on_ = false;
    leave();
    intake_.set_state(FeedState::stopped, "stopped");
    intake_.attach(nullptr);
  }

  void subscribe(const std::vector<std::string>& symbols) override {
    wanted_ = std::set<std::string>(symbols.begin(), symbols.end());
    intake_.want(symbols);
    if (phase_ == Phase::up) send_difference();
  }

  [[nodiscard]] FeedHealth health() const override { return intake_.health(); }

 private:
  enum class Phase : std::uint8_t { off, connecting, asking, up };

  /// Calls `what` only while this feed lives and the same connection is the current one.
  template <typename What>
  auto in_this_run(What what) {
    return [this, alive = std::weak_ptr<bool>(alive_), run = run_, what](auto&&... arguments) {
      if (!alive.expired() && run == run_) what(std::forward<decltype(arguments)>(arguments)...);
    };
  }

  void wait_and_connect(Nanos wait) {
    ++run_;
    timer_.expires_after(std::chrono::nanoseconds(wait));
    timer_.async_wait(in_this_run([this](const boost::system::error_code& error) {
      if (!error) connect();
    }));
  }

  void connect() {
    if (leaving_) {  // the old connection first: many sources count them
      connect_when_left_ = true;
      return;
    }
    if (settings_.secret.kind != SecretSource::Kind::none) {
      auto secret = context_.secret(settings_.secret);
      if (!secret) return try_again(secret.error().text, false, 0);
      secret_ = std::move(*secret);
    }
    WebSocketHandlers handlers;
    handlers.on_open = in_this_run([this] { on_open(); });
    if (context_.step) handlers.on_step = in_this_run([this](std::string_view step) { context_.step(step); });
    handlers.on_message = in_this_run([this](std::string_view message) { on_message(message); });
    handlers.on_end = in_this_run([this](const WebSocketEnd& end) { on_end(end); });
    phase_ = Phase::connecting;
    intake_.set_state(FeedState::connecting, "connecting to " + address_to_show(settings_.url));
    socket_ = std::make_unique<WebSocket>(context_.io, options(), std::move(handlers));
    socket_->open();
  }

  [[nodiscard]] WebSocketOptions options() const {
    WebSocketOptions out;
    out.url = fill_template(settings_.url, values({}), Escape::url);
    for (const auto& [name, value] : settings_.headers)
      out.headers[name] = fill_template(value, values({}), Escape::none);
    out.proxy = settings_.proxy;
    out.ca_file = settings_.ca_file;
    out.insecure_loopback = settings_.insecure_loopback;
    out.message_bytes_most = settings_.frame_bytes_most;
    out.phase_timeout = settings_.connect_timeout;
    out.keep_alive = settings_.keep_alive;
    out.deflate = settings_.permessage_deflate;
    return out;
  }

  [[nodiscard]] TemplateValues values(std::span<const std::string> symbols) const {
    return {secret_.text(), symbols, &forms_};
  }

  void tell_step(const std::string& step) const {
    if (context_.step) context_.step(step);
  }

  void on_open() {
    tell_step("upgraded to a WebSocket");
    intake_.restart_sequences();
    there_.clear();
    phase_ = Phase::asking;
    bool all_told = false;
    for (const auto& message : settings_.hello) {
      if (mentions_symbols(message)) {
        send_batches(message, wanted_);
        all_told = true;
      } else {
        socket_->send(fill_template(message, values({}), Escape::json));
      }
    }
    if (all_told) there_ = wanted_;
    if (!settings_.hello.empty()) tell_step("said hello");
    if (!waits_for_yes_) return go_up();
    timer_.expires_after(settings_.connect_timeout);
    timer_.async_wait(in_this_run([this](const boost::system::error_code& error) {
      if (!error && phase_ == Phase::asking) drop("no answer to our hello within the time limit", false);
    }));
  }

  void go_up() {
    timer_.cancel();
    phase_ = Phase::up;
    send_difference();
    send_ping();
    intake_.set_state(FeedState::up, "connected to " + address_to_show(settings_.url) + ", " +
                                         std::to_string(wanted_.size()) + " symbols");
  }

  void send_difference() {
    std::set<std::string> more, fewer;
    std::set_difference(wanted_.begin(), wanted_.end(), there_.begin(), there_.end(), std::inserter(more, more.end()));
    std::set_difference(there_.begin(), there_.end(), wanted_.begin(), wanted_.end(), std::inserter(fewer, fewer.end()));
    if (!more.empty() && settings_.subscribe.empty() && hello_has_symbols()) {
      return drop("connecting anew, to ask for other symbols", false);
    }
    if (!settings_.unsubscribe.empty()) send_batches(settings_.unsubscribe, fewer);
    if (!settings_.subscribe.empty()) send_batches(settings_.subscribe, more);
    if (!settings_.subscribe.empty() && !more.empty())
      tell_step("asked for " + std::to_string(more.size()) + (more.size() == 1 ? " symbol" : " symbols"));
    there_ = wanted_;
  }

  [[nodiscard]] bool hello_has_symbols() const {
    return std::any_of(settings_.hello.begin(), settings_.hello.end(), [](const auto& m) { return mentions_symbols(m); });
  }

  void send_batches(const std::string& message, const std::set<std::string>& symbols) {
    const std::vector<std::string> all(symbols.begin(), symbols.end());
    const std::size_t most = batch_for(message, settings_.batch);
    for (std::size_t at = 0; at < all.size(); at += most) {
      const auto part = std::span(all).subspan(at, std::min(most, all.size() - at));
      socket_->send(fill_template(message, values(part), Escape::json));
    }
  }

  void send_ping() {
    if (settings_.ping.empty() || !socket_) return;
    socket_->send(fill_template(settings_.ping, values({}), Escape::json));
    ping_timer_.expires_after(settings_.keep_alive);
    ping_timer_.async_wait(in_this_run([this](const boost::system::error_code& error) {
      if (!error) send_ping();
    }));
  }

  void on_message(std::string_view message) {
    intake_.take(message);
    if (intake_.has_ticks()) backoff_.on_data(context_.steady());
    const auto answers = intake_.answers();
    const auto replies = intake_.replies();
    intake_.flush();
    for (const auto& reply : replies) {
      if (!socket_) return;  // the listener ended the connection
      send_reply(reply);
    }
    for (const auto& answer : answers) {
      if (!socket_) return;  // an earlier answer, or the listener, ended the connection
      on_answer(answer);
    }
  }

  /// One that the source does not take from us is not piled up.
  void send_reply(const WantedReply& reply) {
    if (socket_->unsent() > kUnsentMost) return drop("the source asks for replies and does not take them", false);
    TemplateValues values{secret_.text(), {}, &forms_, reply.value};
    socket_->send(fill_template(settings_.replies[reply.which].send, values, Escape::json));
  }

  void on_answer(const SourceVerdict& answer) {
    const std::string text = without_secret(answer.text, secret_.text());
    if (answer.accepted) {
      tell_step((phase_ == Phase::asking ? "logged in, the source said: " : "acknowledged, the source said: ") + text);
      if (phase_ == Phase::asking) go_up();
      return;
    }
    if (phase_ == Phase::asking) return drop("the source said: " + text, true);
    intake_.note_refusal(text);  // it may be one subscription of many: the rest goes on
  }

  void on_end(const WebSocketEnd& end) {
    const auto asked = parse_retry_after(end.retry_after, context_.wall());
    const Nanos at_least = asked ? asked->count() * kSecond : 0;
    socket_.reset();
    const std::string reason = quoted_reason(without_secret(end.refusal, secret_.text()));
    try_again(without_secret(end.text, secret_.text()) + reason, is_refusal(end), at_least);
  }

  /// Ends the connection from our side and comes back later.
  void drop(const std::string& why, bool refused) {
    leave();
    try_again(why, refused, 0);
  }

  /// Says goodbye; the socket lives on until the other side has answered, and its handlers reach nobody but us.
  void leave() {
    timer_.cancel();
    ping_timer_.cancel();
    ++run_;
    phase_ = Phase::off;
    connect_when_left_ = false;
    if (!socket_) return;
    leaving_ = std::move(socket_);
    leaving_->leave([this, alive = std::weak_ptr<bool>(alive_)] {
      if (alive.expired()) return;
      leaving_.reset();
      if (std::exchange(connect_when_left_, false) && wanted_on_) connect();
    });
  }

  void try_again(const std::string& why, bool refused, Nanos at_least) {
    phase_ = Phase::off;
    ping_timer_.cancel();
    const double random = context_.random();
    const Nanos wait = refused ? backoff_.on_refusal(random, at_least) : backoff_.on_failure(random, at_least);
    char when[48];
    std::snprintf(when, sizeof when, "; trying again in %.1f s", static_cast<double>(wait) / 1e9);
    intake_.set_state(FeedState::down, why + when);
    if (wanted_on_) wait_and_connect(wait);
  }

  const FeedSettings settings_;
  const FeedContext& context_;
  Intake intake_;
  const SymbolForms forms_;
  const bool waits_for_yes_;
  asio::steady_timer timer_, ping_timer_;
  Backoff backoff_;
  std::shared_ptr<bool> alive_;  ///< dies with the feed: handlers that come later see it
  std::uint64_t run_ = 0;
  Phase phase_ = Phase::off;
  bool wanted_on_ = false;
  bool connect_when_left_ = false;
  Secret secret_;
  std::set<std::string> wanted_, there_;  ///< what we want; what the other side has been asked for on this connection
  std::unique_ptr<WebSocket> socket_, leaving_;
};

}  // namespace

std::unique_ptr<Feed> make_stream_feed(const FeedSettings& settings, const FeedContext& context, Decoder decoder) {
  return std::make_unique<StreamFeed>(settings, context, std::move(decoder));
}

}  // namespace brimwatch
