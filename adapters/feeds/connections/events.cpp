#include "adapters/feeds/connections/events.h"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstdio>
#include <span>

#include "adapters/feeds/backoff.h"
#include "adapters/feeds/connections/http_trouble.h"
#include "adapters/feeds/decoding/event_text.h"
#include "adapters/feeds/intake.h"
#include "adapters/feeds/template.h"
#include "adapters/net/http.h"
#include "config/address.h"
#include "config/told_reason.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr std::size_t kAnswersMost = 8;  // streams at once; more symbols than fit into them go into longer addresses
constexpr Nanos kRetryMost = 60 * kSecond;
constexpr std::chrono::milliseconds kPatienceMost{60'000};
constexpr const char* kEventStream = "text/event-stream";

class EventsFeed : public Feed {
 public:
  EventsFeed(const FeedSettings& settings, const FeedContext& context, Decoder decoder)
      : settings_(settings),
        context_(context),
        intake_(settings, context, std::move(decoder)),
        forms_(symbol_forms(settings)),
        timer_(context.io),
        patience_(settings.connect_timeout),
        client_(context.io) {}

  void start(FeedListener& listener) override {
    intake_.attach(&listener);
    on_ = true;
    wait_and_connect(0);
  }

  void stop() override {
    on_ = false;
    leave();
    intake_.set_state(FeedState::stopped, "stopped");
    intake_.attach(nullptr);
  }

  /// The address says which symbols: another set is another address.
  void subscribe(const std::vector<std::string>& symbols) override {
    if (symbols != symbols_ && last_ids_.size() > 1) last_ids_.clear();  // other symbols share a stream now
    const bool anew = on_ && symbols != symbols_ && mentions_symbols(settings_.url) && !waits_;
    symbols_ = symbols;
    intake_.want(symbols);
    if (anew) {
      leave();
      wait_and_connect(0);
    }
  }

  [[nodiscard]] FeedHealth health() const override { return intake_.health(); }

 private:
  /// Calls `what` only while this feed lives and the same run goes on.
  template <typename What>
  auto in_this_run(What what) {
    return [this, alive = std::weak_ptr<bool>(alive_), run = run_, what](auto&&... arguments) {
      if (!alive.expired() && run == run_) what(std::forward<decltype(arguments)>(arguments)...);
    };
  }

  void leave() {
    ++run_;
    timer_.cancel();
    client_.cancel_all();
    splitters_.clear();
    waits_ = false;
  }

  void wait_and_connect(Nanos wait) {
    ++run_;
    waits_ = wait > 0;
    timer_.expires_after(std::chrono::nanoseconds(wait));
    timer_.async_wait(in_this_run([this](const boost::system::error_code& error) {
      if (!error) connect();
    }));
  }

  void connect() {
    waits_ = false;
    if (settings_.secret.kind != SecretSource::Kind::none) {
      auto secret = context_.secret(settings_.secret);
      if (!secret) return come_back({secret.error().text, false, 0});
      secret_ = std::move(*secret);
    }
    intake_.set_state(FeedState::connecting, "connecting to " + address_to_show(settings_.url));
    intake_.restart_sequences();
    begun_ = 0;
    asked_at_ = context_.steady();
    const bool by_symbol = mentions_symbols(settings_.url);
    if (by_symbol && symbols_.empty()) return;  // nothing to ask for
    const std::size_t fits = (symbols_.size() + kAnswersMost - 1) / kAnswersMost;
    const std::size_t most = by_symbol ? std::max(batch_for(settings_.url, settings_.batch), fits) : symbols_.size();
    const std::size_t streams = by_symbol ? (symbols_.size() + most - 1) / most : 1;
    if (last_ids_.size() != streams) last_ids_.assign(streams, {});
    for (std::size_t at = 0; at < symbols_.size() || at == 0; at += std::max<std::size_t>(most, 1)) {
      open(std::span(symbols_).subspan(at, std::min(most, symbols_.size() - at)));
    }
    timer_.expires_after(settings_.connect_timeout + patience_);
    timer_.async_wait(in_this_run([this](const boost::system::error_code& error) {
      if (!error && begun_ < splitters_.size()) be_more_patient();
    }));
  }

  /// A proxy that buffers holds the beginning back until enough has come for a block of its own: whoever gives up early
  /// throws away what is in it, each time anew, and never hears anything of a quiet source.
  void be_more_patient() {
    const auto waited = std::chrono::duration_cast<std::chrono::seconds>(settings_.connect_timeout + patience_);
    patience_ = std::min<std::chrono::milliseconds>(2 * patience_, kPatienceMost);
    drop({"no answer in " + std::to_string(waited.count()) +
              " s; if the source sends, something on the way holds it back, such as a proxy that buffers",
          false, 0});
  }

  void open(std::span<const std::string> symbols) {
    const std::size_t number = splitters_.size();
    splitters_.push_back(std::make_unique<EventSplitter>(
        settings_.frame_bytes_most, [this, number](std::string_view event) { on_event(number, event); },
        [this] { intake_.lose("an event"); }));
    HttpRequest request = request_for(symbols, last_ids_[number]);
    request.on_stream = in_this_run([this, number](std::string_view bytes) { on_bytes(number, bytes); });
    client_.start(std::move(request), in_this_run([this](const HttpAnswer& answer) { on_end(answer); }));
  }

  [[nodiscard]] HttpRequest request_for(std::span<const std::string> symbols, const std::string& last_id) const {
    HttpRequest out;
    const TemplateValues values{secret_.text(), symbols, &forms_};
    out.url = fill_template(settings_.url, values, Escape::url);
    out.headers["Accept"] = kEventStream;
    out.headers["Cache-Control"] = "no-store";
    for (const auto& [name, value] : settings_.headers) out.headers[name] = fill_template(value, values, Escape::none);
    if (!last_id.empty()) out.headers["Last-Event-ID"] = last_id;
    out.stream_type = kEventStream;
    out.proxy = settings_.proxy;
    out.ca_file = settings_.ca_file;
    out.insecure_loopback = settings_.insecure_loopback;
    out.timeout = settings_.connect_timeout;
    return out;
  }

  void on_bytes(std::size_t number, std::string_view bytes) {
    if (bytes.empty() && ++begun_ == splitters_.size()) {
      timer_.cancel();
      // As long as it took this time it may take again.
      patience_ = std::max(settings_.connect_timeout, std::chrono::duration_cast<std::chrono::milliseconds>(
                                                          std::chrono::nanoseconds(context_.steady() - asked_at_)));
      intake_.set_state(FeedState::up, "events from " + address_to_show(settings_.url) + ", " +
                                           std::to_string(symbols_.size()) + " symbols");
    }
    const auto run = run_;
    splitters_[number]->add(bytes);
    if (run != run_) return;  // an event ended the run
    if (intake_.has_ticks()) backoff_.on_data(context_.steady());
    const auto answers = intake_.answers();
    intake_.flush();
    for (const auto& answer : answers) {
      if (run == run_ && !answer.accepted) intake_.note_refusal(without_secret(answer.text, secret_.text()));
    }
  }

  void on_event(std::size_t number, std::string_view event) {
    const EventParts parts = parse_event(event);
    if (parts.id && parts.id->find_first_of("\r\n") == std::string::npos) last_ids_[number] = *parts.id;
    if (parts.retry_ms)
      retry_ =
          std::min<Nanos>(static_cast<Nanos>(std::min<std::uint64_t>(*parts.retry_ms, 60'000)) * 1'000'000, kRetryMost);
    if (!parts.data.empty()) intake_.take(event);
  }

  void on_end(const HttpAnswer& answer) {
    auto trouble = trouble_of(answer, context_.wall(), secret_.text());
    if (answer.status == 204) trouble = RequestTrouble{"the source answered HTTP 204: it has no more events", true, 0};
    if (!trouble && answer.is_other_type(kEventStream))
      trouble = RequestTrouble{"the source answered with " + answer.media_type() + ", not with events (" + kEventStream +
                                   ")" + quoted_reason(without_secret(answer.body, secret_.text())),
                               false, 0};
    if (!trouble) trouble = RequestTrouble{"the source ended the answer", false, 0};
    drop(std::move(*trouble));
  }

  void drop(RequestTrouble trouble) {
    leave();
    come_back(std::move(trouble));
  }

  void come_back(const RequestTrouble& trouble) {
    const double random = context_.random();
    const Nanos asked = std::max(trouble.wait, retry_);
    const Nanos wait = trouble.refused ? backoff_.on_refusal(random, asked) : backoff_.on_failure(random, asked);
    char when[48];
    std::snprintf(when, sizeof when, "; trying again in %.1f s", static_cast<double>(wait) / 1e9);
    intake_.set_state(FeedState::down, without_secret(trouble.text, secret_.text()) + when);
    if (on_) wait_and_connect(wait);
  }

  const FeedSettings settings_;
  const FeedContext& context_;
  Intake intake_;
  const SymbolForms forms_;
  asio::steady_timer timer_;
  std::chrono::milliseconds patience_;  ///< for the beginning of an answer, when connected
  HttpClient client_;
  Backoff backoff_;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);  ///< dies with the feed: what comes later sees it
  std::uint64_t run_ = 0;
  bool on_ = false;
  bool waits_ = false;  ///< out a failure: new symbols must not shorten it
  Secret secret_;
  std::vector<std::string> last_ids_;  ///< one a stream: a source may number each of them by itself
  Nanos retry_ = 0;                    ///< as the source asks
  std::vector<std::string> symbols_;
  std::vector<std::unique_ptr<EventSplitter>> splitters_;  ///< one an answer
  std::size_t begun_ = 0;
  Nanos asked_at_ = 0;
};

}  // namespace

std::unique_ptr<Feed> make_events_feed(const FeedSettings& settings, const FeedContext& context, Decoder decoder) {
  return std::make_unique<EventsFeed>(settings, context, std::move(decoder));
}

}  // namespace brimwatch
