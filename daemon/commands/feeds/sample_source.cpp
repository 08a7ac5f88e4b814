#include "commands/feeds/sample_source.h"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <functional>
#include <memory>

#include "adapters/feeds/decoding/event_text.h"
#include "adapters/feeds/template.h"
#include "adapters/net/http.h"
#include "adapters/net/websocket.h"
#include "commands/progress.h"
#include "config/address.h"
#include "config/secret.h"
#include "config/told_reason.h"
#include "tape/bytes.h"
#include "tape/frames.h"

namespace brimwatch {
namespace {

constexpr std::size_t kSampleMost = 64U << 20, kFramesMost = 20'000;

Result<std::string> all_of(ByteSource& source) {
  std::string out;
  std::string room(1U << 16, '\0');
  while (out.size() < kSampleMost) {
    const auto count = source.read(room);
    if (!count) return tl::unexpected(count.error());
    if (*count == 0) break;
    out.append(room, 0, *count);
  }
  return out;
}

Result<Sample> recorded_frames(OpenedBytes bytes) {
  auto reader = FrameReader::open(std::move(bytes));
  if (!reader) return tl::unexpected(reader.error());
  Sample out;
  while (out.frames.size() < kFramesMost) {
    const auto frame = (*reader)->next();
    if (!frame) return tl::unexpected(frame.error());
    if (!*frame) break;
    if ((*frame)->kind == Frame::Kind::bytes) out.frames.emplace_back((*frame)->bytes);
  }
  out.events = std::any_of(out.frames.begin(), out.frames.end(), begins_as_events);
  return out;
}

/// One answer, or one connection, listened to until enough has come.
class Listener {
 public:
  Listener(std::string url, const LiveSample& live) : url_(std::move(url)), live_(live), timer_(io_), again_(io_) {}

  Result<Sample> listen() {
    if (const Status ready = fetch_secret(); !ready) return tl::unexpected(ready.error());
    timer_.expires_after(std::chrono::seconds(live_.seconds));
    timer_.async_wait([this](const boost::system::error_code& error) {
      if (!error) io_.stop();
    });
    if (url_.starts_with("ws")) open_socket();
    else ask();
    io_.run();
    progress_.clear();
    socket_.reset();
    http_.reset();
    if (sample_.frames.empty()) {
      return fail(without_secret(
          problem_.empty() ? "nothing came from " + address_to_show(url_) + " in " + std::to_string(live_.seconds) + " s"
                           : problem_,
          secret_.text()));
    }
    return std::move(sample_);
  }

 private:
  Status fetch_secret() {
    if (live_.secret_env.empty()) return {};
    auto secret = read_secret({SecretSource::Kind::environment, live_.secret_env});
    if (!secret) return tl::unexpected(secret.error());
    secret_ = std::move(*secret);
    return {};
  }

  [[nodiscard]] std::string filled(const std::string& text, Escape escape) const {
    return fill_template(text, {secret_.text(), live_.symbols, nullptr}, escape);
  }

  template <typename Options>
  void dress(Options& options) const {
    options.url = filled(url_, Escape::url);
    for (const std::string& header : live_.headers) {
      const std::size_t colon = header.find(':');
      if (colon == header.npos) continue;
      const std::size_t value = header.find_first_not_of(' ', colon + 1);
      options.headers[header.substr(0, colon)] = filled(value == header.npos ? "" : header.substr(value), Escape::none);
    }
    options.ca_file = live_.ca_file;
    options.insecure_loopback = live_.insecure_loopback;
  }

  void open_socket() {
    WebSocketOptions options;
    dress(options);
    WebSocketHandlers handlers;
    handlers.on_open = [this] {
      for (const std::string& text : live_.hello) socket_->send(filled(text, Escape::json));
      subscribe();
    };
    handlers.on_message = [this](std::string_view message) { take(message); };
    handlers.on_end = [this](const WebSocketEnd& end) {
      fail_with(end.text + quoted_reason(without_secret(end.refusal, secret_.text())));
    };
    socket_ = std::make_unique<WebSocket>(io_, options, std::move(handlers));
    socket_->open();
  }

  void subscribe() {
    const std::string& text = live_.subscribe;
    if (text.empty()) return;
    if (!mentions_symbols(text)) return socket_->send(filled(text, Escape::json));
    const std::size_t most = batch_for(text, 100);
    for (std::size_t at = 0; at < live_.symbols.size(); at += most) {
      const auto part = std::span(live_.symbols).subspan(at, std::min(most, live_.symbols.size() - at));
      socket_->send(fill_template(text, {secret_.text(), part, nullptr}, Escape::json));
    }
  }

  /// Asked once, and again where the answer has an end: what has not changed meanwhile teaches nothing.
  void ask() {
    HttpRequest request;
    dress(request);
    request.timeout = std::chrono::seconds(live_.seconds);
    request.on_stream = [this](std::string_view bytes) { take_bytes(bytes); };
    body_.clear();
    if (http_ == nullptr) http_ = std::make_unique<HttpClient>(io_);
    http_->start(request, [this](const HttpAnswer& answer) {
      if (answer.status == 0) return fail_with(answer.error);
      if (answer.status != 200)
        return fail_with("the server answered HTTP " + std::to_string(answer.status) +
                         quoted_reason(without_secret(answer.body, secret_.text())));
      if (sample_.events) return fail_with("the server ended its events before the first came");
      if (!body_.empty() && (sample_.frames.empty() || sample_.frames.back() != body_)) take(body_);
      again_.expires_after(std::chrono::milliseconds(live_.every_ms()));
      again_.async_wait([this](const boost::system::error_code& error) {
        if (!error) ask();
      });
    });
  }

  /// Server-sent events are known by how they begin, whether they were announced or not.
  void take_bytes(std::string_view bytes) {
    if (!sample_.events) {
      if (body_.size() + bytes.size() > kSampleMost) return fail_with("one answer is longer than 64 MB");
      body_ += bytes;
      sample_.events = live_.events || begins_as_events(body_);
      if (!sample_.events) return;
      bytes = body_;
    }
    if (splitter_ == nullptr)
      splitter_ = std::make_unique<EventSplitter>(kSampleMost, [this](std::string_view event) {
        if (!parse_event(event).data.empty()) take(event);
      });
    splitter_->add(bytes);
  }

  void take(std::string_view frame) {
    sample_.frames.emplace_back(frame);
    if (progress_.due()) progress_.show({sample_.frames.size(), "messages", -1, 0, ""});
    if (sample_.frames.size() >= static_cast<std::size_t>(live_.messages)) io_.stop();
  }

  void fail_with(const std::string& why) {
    problem_ = why;
    io_.stop();
  }

  const std::string url_;
  const LiveSample& live_;
  boost::asio::io_context io_;
  boost::asio::steady_timer timer_, again_;
  Secret secret_;
  Sample sample_;
  std::string problem_, body_;
  ProgressLine progress_;
  std::unique_ptr<EventSplitter> splitter_;
  std::unique_ptr<WebSocket> socket_;
  std::unique_ptr<HttpClient> http_;
};

/// What stands in a header for a secret is not written into a configuration.
std::string without_value(const std::string& value) {
  if (value.find("{secret}") != std::string::npos) return value;
  const std::size_t blank = value.find(' ');
  return blank == std::string::npos ? "{secret}" : value.substr(0, blank + 1) + "{secret}";
}

}  // namespace

void LiveSample::put_into(FeedSettings& settings) const {
  if (url.empty()) return;
  settings.url = url;
  settings.kind = url.starts_with("ws") ? "stream" : events ? "events" : "poll";
  if (settings.kind == "poll") settings.interval = std::chrono::milliseconds(every_ms());
  settings.insecure_loopback = insecure_loopback;
  settings.ca_file = ca_file;
  if (!secret_env.empty()) settings.secret = {SecretSource::Kind::environment, secret_env};
  for (const std::string& header : headers) {
    const std::size_t colon = header.find(':');
    if (colon == header.npos) continue;
    const std::size_t value = header.find_first_not_of(' ', colon + 1);
    settings.headers[header.substr(0, colon)] = without_value(value == header.npos ? "" : header.substr(value));
    if (settings.secret.kind == SecretSource::Kind::none)
      settings.secret = {SecretSource::Kind::environment, "QUOTES_KEY"};
  }
  if (settings.kind != "stream") return;
  settings.hello = hello;
  settings.subscribe = subscribe;
}

void add_live_options(CLI::App& command, LiveSample& live) {
  command
      .add_option("--header", live.headers,
                  "A header for a live address, \"Name: value\"; {secret} stands for the secret")
      ->type_name("TEXT")
      ->allow_extra_args(false);
  command.add_option("--hello", live.hello, "A message sent after connecting, such as a login")
      ->type_name("TEXT")
      ->allow_extra_args(false);
  command.add_option("--subscribe", live.subscribe, "The message that asks for symbols; {symbols}, {symbols_json}")
      ->type_name("TEXT");
  command.add_option("--symbols", live.symbols, "Symbols to ask for, with commas between")
      ->type_name("SYMBOL")
      ->delimiter(',')
      ->allow_extra_args(false);
  command.add_option("--secret-env", live.secret_env, "The variable of the environment that holds the secret")
      ->type_name("NAME");
  command.add_option("--seconds", live.seconds, "How long to listen to a live address")
      ->type_name("N")
      ->check(CLI::Range(1, 3600))
      ->capture_default_str();
  command.add_option("--messages", live.messages, "Stop after this many messages")
      ->type_name("N")
      ->check(CLI::Range(1, 20'000))
      ->capture_default_str();
  command.add_option("--every", live.every, "Seconds between requests to a polled address")
      ->type_name("N")
      ->check(CLI::Range(0.1, 3600.0))
      ->capture_default_str();
  command.add_option("--ca-file", live.ca_file, "Certificates to trust, in place of the system's")->type_name("FILE");
  command.add_flag("--events", live.events, "The address sends server-sent events (recognised once one has come)");
  command.add_flag("--insecure-loopback", live.insecure_loopback, "Allow ws:// and http:// to this machine itself");
}

bool is_address_of_a_source(const std::string& text) {
  return text.starts_with("wss://") || text.starts_with("ws://") || text.starts_with("https://") ||
         text.starts_with("http://");
}

Result<Sample> sample_of_file(const std::string& path) {
  auto bytes = open_bytes(path);
  if (!bytes) return tl::unexpected(bytes.error());
  if (bytes->kind == RecordingKind::frames) return recorded_frames(std::move(*bytes));
  const auto text = all_of(*bytes->bytes);
  if (!text) return tl::unexpected(text.error());
  return cut_sample(*text);
}

Result<Sample> sample_of_source(const std::string& url, const LiveSample& live) { return Listener(url, live).listen(); }

}  // namespace brimwatch
