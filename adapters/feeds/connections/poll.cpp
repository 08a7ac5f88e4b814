#include "adapters/feeds/connections/poll.h"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdio>
#include <map>
#include <optional>
#include <span>
#include <utility>

#include "adapters/feeds/backoff.h"
#include "adapters/feeds/connections/http_trouble.h"
#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/intake.h"
#include "adapters/feeds/template.h"
#include "adapters/net/http.h"
#include "config/address.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr std::size_t kAtOnce = 4;  // requests under way: a source that limits rates must not meet a burst

class PollFeed : public Feed {
 public:
  PollFeed(const FeedSettings& settings, const FeedContext& context, Decoder decoder)
      : settings_(settings),
        context_(context),
        intake_(settings, context, std::move(decoder)),
        forms_(symbol_forms(settings)),
        timer_(context.io),
        client_(context.io) {}

  void start(FeedListener& listener) override {
    intake_.attach(&listener);
    on_ = true;
    wait(0);
  }

  void stop() override {
    on_ = false;
    timer_.cancel();
    client_.cancel_all();
    waiting_.clear();
    intake_.set_state(FeedState::stopped, "stopped");
    intake_.attach(nullptr);
  }

  void subscribe(const std::vector<std::string>& symbols) override {
    symbols_ = symbols;
    intake_.want(symbols);
    if (on_ && in_round() == 0 && !paused_) wait(0);
  }

  [[nodiscard]] FeedHealth health() const override { return intake_.health(); }

 private:
  [[nodiscard]] std::size_t in_round() const { return client_.under_way() + waiting_.size(); }

  void wait(Nanos span) {
    timer_.expires_after(std::chrono::nanoseconds(span));
    timer_.async_wait([this, alive = std::weak_ptr<bool>(alive_)](const boost::system::error_code& error) {
      if (!error && !alive.expired() && on_) begin_round();
    });
  }

  void begin_round() {
    paused_ = false;
    round_started_ = context_.steady();
    trouble_.reset();
    answers_ = 0;
    if (settings_.secret.kind != SecretSource::Kind::none) {
      auto secret = context_.secret(settings_.secret);
      if (!secret) return come_back(RequestTrouble{secret.error().text, false, 0});
      secret_ = std::move(*secret);
    }
    fill_round();
    if (in_round() == 0) return wait(interval());  // no symbols: nothing to ask
    if (intake_.health().state == FeedState::stopped)
      intake_.set_state(FeedState::connecting, "asking " + address_to_show(settings_.url));
    ask_more();
  }

  void fill_round() {
    const std::size_t most = batch_for(settings_.url, settings_.batch);
    waiting_.clear();
    for (std::size_t at = 0; at < symbols_.size(); at += most) {
      waiting_.push_back(address(std::span(symbols_).subspan(at, std::min(most, symbols_.size() - at))));
      if (!mentions_symbols(settings_.url)) break;  // the source gives all it has
    }
    std::reverse(waiting_.begin(), waiting_.end());           // taken from the end
    if (etags_.size() > 2 * waiting_.size()) etags_.clear();  // addresses of other batches
  }

  [[nodiscard]] std::string address(std::span<const std::string> symbols) const {
    return fill_template(settings_.url, {secret_.text(), symbols, &forms_}, Escape::url);
  }

  void ask_more() {
    while (!waiting_.empty() && client_.under_way() < kAtOnce) {
      const std::string url = std::move(waiting_.back());
      waiting_.pop_back();
      client_.start(request(url), [this, url](const HttpAnswer& answer) { on_answer(url, answer); });
    }
  }

  [[nodiscard]] HttpRequest request(const std::string& url) const {
    HttpRequest out;
    out.url = url;
    for (const auto& [name, value] : settings_.headers) {
      out.headers[name] = fill_template(value, {secret_.text(), {}, &forms_}, Escape::none);
    }
    const auto tag = etags_.find(url);
    if (tag != etags_.end()) out.headers["If-None-Match"] = tag->second;
    out.proxy = settings_.proxy;
    out.ca_file = settings_.ca_file;
    out.insecure_loopback = settings_.insecure_loopback;
    out.body_bytes_most = settings_.frame_bytes_most;
    out.timeout = settings_.connect_timeout;
    return out;
  }

  void on_answer(const std::string& url, const HttpAnswer& answer) {
    auto trouble = trouble_of(answer, context_.wall(), secret_.text());
    if (trouble) {
      trouble->text = without_secret(trouble->text, secret_.text());
      if (!trouble_ || trouble->refused) trouble_ = std::move(trouble);
      if (trouble_->refused) waiting_.clear();  // no use in asking on
    } else {
      ++answers_;
      take(url, answer);
    }
    if (!on_) return;  // the listener stopped us
    ask_more();
    if (in_round() == 0) end_round();
  }

  void take(const std::string& url, const HttpAnswer& answer) {
    if (intake_.health().state != FeedState::up)
      intake_.set_state(FeedState::up, "answers from " + address_to_show(settings_.url));
    backoff_.on_data(context_.steady());
    if (answer.status == 304) return;
    const auto tag = answer.headers.find("etag");
    if (tag != answer.headers.end()) etags_[url] = tag->second;
    intake_.take(answer.body);
    const auto answers = intake_.answers();
    intake_.flush();
    for (const auto& one : answers) {
      if (!one.accepted)
        trouble_ = RequestTrouble{"the source said: " + without_secret(one.text, secret_.text()), true, 0};
    }
  }

  void end_round() {
    if (trouble_ && (trouble_->refused || answers_ == 0)) return come_back(*trouble_);
    if (trouble_)
      context_.log(LogLevel::warning, "feed " + settings_.name + ": part of a round failed: " + trouble_->text,
                   {.feed = settings_.name});
    const Nanos spent = context_.steady() - round_started_;
    wait(std::max<Nanos>(interval() - spent, 0));
  }

  void come_back(const RequestTrouble& trouble) {
    const double random = context_.random();
    Nanos span = trouble.refused ? backoff_.on_refusal(random, trouble.wait) : backoff_.on_failure(random, trouble.wait);
    span = std::max(span, interval());
    char when[48];
    std::snprintf(when, sizeof when, "; asking again in %.1f s", static_cast<double>(span) / 1e9);
    intake_.set_state(FeedState::down, trouble.text + when);
    if (!on_) return;
    paused_ = true;
    wait(span);
  }

  [[nodiscard]] Nanos interval() const { return std::chrono::nanoseconds(settings_.interval).count(); }

  const FeedSettings settings_;
  const FeedContext& context_;
  Intake intake_;
  const SymbolForms forms_;
  asio::steady_timer timer_;
  HttpClient client_;
  Backoff backoff_;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);  ///< dies with the feed: a timer that comes later sees it
  bool on_ = false;
  bool paused_ = false;  ///< waiting out a failure: new symbols must not shorten it
  Secret secret_;
  std::vector<std::string> symbols_;
  std::vector<std::string> waiting_;          ///< addresses of the round that are not asked yet
  std::map<std::string, std::string> etags_;  ///< by address
  Nanos round_started_ = 0;
  std::size_t answers_ = 0;
  std::optional<RequestTrouble> trouble_;
};

}  // namespace

FeedSettings with_usual_kind(FeedSettings settings) {
  const bool snapshots = settings.kind == "poll" && settings.default_kind == "trade" && settings.fields.size.empty();
  if (snapshots) settings.default_kind = "day";
  return settings;
}

Result<std::unique_ptr<Feed>> make_poll_feed(const FeedSettings& settings, const FeedContext& context) {
  const FeedSettings resolved = with_usual_kind(settings);
  auto decoder = Decoder::make(resolved, context.symbols);
  if (!decoder) return tl::unexpected(decoder.error());
  return std::make_unique<PollFeed>(resolved, context, std::move(*decoder));
}

}  // namespace brimwatch
