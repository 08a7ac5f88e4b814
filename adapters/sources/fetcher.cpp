#include "adapters/sources/fetcher.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <deque>
#include <span>
#include <utility>

#include "adapters/feeds/template.h"
#include "adapters/net/http.h"
#include "adapters/sources/answer.h"
#include "config/address.h"
#include "config/told_reason.h"
#include "core/backoff.h"
#include "core/text/retry_after.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr std::size_t kAtOnce = 4;
constexpr int kTriesMost = 6;
constexpr int kPagesMost = 1000;
constexpr int kForbiddenMost = 3;  ///< symbols before the first good answer: it is not the symbols
constexpr Nanos kFirstWait = kSecond / 2, kLongestWait = 5 * kMinute;
constexpr std::size_t kAnswerMost = 256U << 20;

void replace_all(std::string& text, std::string_view place, const std::string& value) {
  for (std::size_t at = text.find(place); at != std::string::npos; at = text.find(place, at + value.size()))
    text.replace(at, place.size(), value);
}

SymbolForms forms_of(const HistorySource& source) { return {{source.symbol_form}, source.symbol_names}; }

/// What an answer means: what is wrong, and whether it may be right later.
struct Verdict {
  std::string trouble;      ///< empty: it is a good answer
  bool later = false;       ///< it may be asked again
  bool everything = false;  ///< nobody need ask for the others either
  bool forbidden = false;   ///< the key takes no symbol, or not this one
  Nanos wait = 0;           ///< asked for by the source; 0: it said nothing
};

/// Where the source does not say why itself.
const char* likely_reason(int status) {
  if (status == 404) return ": it does not know the symbol, or the address is wrong";
  if (status == 403) return ": it does not take the key, or the key is not for this symbol";
  return status == 401 ? ": it does not take the key" : "";
}

Verdict judge_answer(const HttpAnswer& answer, Timestamp now, const std::string& secret) {
  if (answer.status == 200) return {};
  Verdict out;
  if (answer.status == 0) return out.trouble = answer.error, out.later = true, out;
  out.trouble = "the source answered HTTP " + std::to_string(answer.status);
  out.later = answer.status == 429 || answer.status >= 500;
  out.everything = answer.status == 401 || (answer.status >= 300 && answer.status < 400);
  out.forbidden = answer.status == 403;  // RFC 9110, 15.5.4: for reasons that need not be the credentials
  const std::string reason = answer.status < 400 ? "" : quoted_reason(without_secret(answer.body, secret));
  out.trouble += reason.empty() ? likely_reason(answer.status) : reason;
  const auto header = answer.headers.find("retry-after");
  const auto asked = header == answer.headers.end() ? std::nullopt : parse_retry_after(header->second, now);
  if (asked) out.wait = asked->count() * kSecond;
  return out;
}

}  // namespace

std::string history_address(const HistorySource& source, const HistoryWish& wish, int page, const std::string& secret) {
  std::string url = source.url;
  replace_all(url, "{from}", to_string(wish.from));
  replace_all(url, "{to}", to_string(wish.to));
  replace_all(url, "{page}", std::to_string(page));
  const SymbolForms forms = forms_of(source);
  return fill_template(url, {secret, std::span(&wish.symbol, 1), &forms}, Escape::url);
}

struct HistoryFetcher::Body : std::enable_shared_from_this<HistoryFetcher::Body> {
  /// Of one wish on its way.
  struct Asking {
    HistoryWish wish;
    HistoryPages pages;
    int page = 1, tries = 0;
    std::string next;  ///< address of the next page, where the source names it
  };

  Body(asio::io_context& loop, HistorySource from, std::function<Timestamp()> clock)
      : io(loop), source(std::move(from)), wall(std::move(clock)), client(loop), timer(loop) {}

  void begin() {
    takes_key = false, forbidden = 0;
    if (source.secret.kind != SecretSource::Kind::none) {
      auto read = read_secret(source.secret);
      if (!read) return fail_all(read.error().text);
      secret = std::move(*read);
    }
    go_on();
  }

  /// As many as may be under way, and the next not before its time.
  void go_on() {
    while (!waiting.empty() && under_way < kAtOnce) {
      const auto now = std::chrono::steady_clock::now();
      if (now < not_before) return wait_until(not_before);
      not_before = now + std::chrono::nanoseconds(kMinute / source.per_minute);
      Asking asking = std::move(waiting.front());
      waiting.pop_front();
      ask(std::move(asking));
    }
  }

  void wait_until(std::chrono::steady_clock::time_point when) {
    timer.expires_at(when);
    timer.async_wait([weak = weak_from_this()](const boost::system::error_code& error) {
      const auto body = weak.lock();
      if (!error && body) body->go_on();
    });
  }

  void ask(Asking asking) {
    HttpRequest request;
    request.url = asking.next.empty() ? history_address(source, asking.wish, asking.page, secret.text()) : asking.next;
    for (const auto& [name, value] : source.headers)
      request.headers[name] = fill_template(value, {secret.text(), {}, nullptr}, Escape::none);
    request.proxy = source.proxy;
    request.ca_file = source.ca_file;
    request.insecure_loopback = source.insecure_loopback;
    request.timeout = source.timeout;
    request.body_bytes_most = kAnswerMost;
    ++under_way, ++counts.requests;
    client.start(std::move(request), [this, asking = std::move(asking)](const HttpAnswer& answer) mutable {
      const auto alive = shared_from_this();
      --under_way;
      on_answer(std::move(asking), answer);
      go_on();
    });
  }

  void on_answer(Asking asking, const HttpAnswer& answer) {
    const Verdict verdict = judge_answer(answer, wall(), secret.text());
    if (verdict.trouble.empty()) return take(std::move(asking), answer.body);
    if (verdict.forbidden && !takes_key) ++forbidden;
    if (verdict.everything || forbidden >= kForbiddenMost)
      return finish(asking, verdict.trouble), fail_all(verdict.trouble);
    if (!verdict.later || ++asking.tries >= kTriesMost) {
      const std::string tries = asking.tries > 1 ? ", " + std::to_string(asking.tries) + " times" : "";
      return finish(asking, verdict.trouble + tries);
    }
    ++(answer.status == 429 || answer.status == 503 ? counts.refused : counts.again);
    const Nanos wait = verdict.wait > 0 ? verdict.wait : backoff_ceiling(kFirstWait, asking.tries - 1, kLongestWait);
    not_before = std::max(not_before, std::chrono::steady_clock::now() + std::chrono::nanoseconds(wait));
    waiting.push_front(std::move(asking));
  }

  void take(Asking asking, const std::string& bytes) {
    takes_key = true, forbidden = 0;
    auto answer = read_answer(bytes, source);
    // Once more for its words: they are cut, and must not be cut in the middle of the key.
    if (!answer) answer = read_answer(without_secret(bytes, secret.text()), source);
    if (!answer) return finish(asking, answer.error().text);
    const bool new_rows = answer->rows > 0 && (asking.pages.empty() || asking.pages.back() != answer->text);
    if (new_rows) asking.pages.push_back(std::move(answer->text));
    const bool paged = source.url.find("{page}") != std::string::npos;
    if (!answer->next.empty()) asking.next = address_of(answer->next, asking.wish);
    const bool more = !answer->next.empty() ? !asking.next.empty() : paged && new_rows;
    if (!answer->next.empty() && asking.next.empty())
      return finish(asking,
                    "the source's next page is at another host; its key is not sent there, and nothing was changed");
    if (!more) return finish(asking, {});
    if (++asking.page > kPagesMost) return finish(asking, "the source has more than 1000 pages");
    asking.tries = 0;
    waiting.push_front(std::move(asking));
  }

  /// Of this source's host, or nothing.
  [[nodiscard]] std::string address_of(const std::string& next, const HistoryWish& wish) const {
    const std::string own = address_to_show(history_address(source, wish, 1, secret.text()));
    if (next.starts_with("/") && !next.starts_with("//")) return own + next;
    return address_to_show(next) == own ? next : std::string();
  }

  void finish(const Asking& asking, const std::string& trouble) {
    const std::string shown = without_secret(trouble, secret.text());
    ++(trouble.empty() ? counts.answered : counts.failed);
    const Done call = done;  // it may end this from within
    if (!call) return;
    if (trouble.empty()) call(asking.wish, asking.pages);
    else call(asking.wish, fail(shown));
  }

  void fail_all(const std::string& trouble) {
    for (const Asking& asking : std::exchange(waiting, {})) finish(asking, trouble);
    go_on();
  }

  asio::io_context& io;
  const HistorySource source;
  const std::function<Timestamp()> wall;
  HttpClient client;
  asio::steady_timer timer;
  Secret secret;
  std::deque<Asking> waiting;
  std::size_t under_way = 0;
  bool takes_key = false;  ///< something was answered in this round
  int forbidden = 0;       ///< before that
  std::chrono::steady_clock::time_point not_before;
  Done done;
  Counts counts;
};

HistoryFetcher::HistoryFetcher(asio::io_context& io, HistorySource source, std::function<Timestamp()> wall)
    : body_(std::make_shared<Body>(io, std::move(source), std::move(wall))) {}

HistoryFetcher::~HistoryFetcher() { cancel(); }

void HistoryFetcher::start(std::vector<HistoryWish> wishes, Done done) {
  body_->done = std::move(done);
  for (HistoryWish& wish : wishes) {
    ++body_->counts.asked;
    body_->waiting.push_back({std::move(wish), {}, 1, 0, {}});
  }
  boost::asio::post(body_->io, [weak = std::weak_ptr(body_)] {
    if (const auto body = weak.lock()) body->begin();
  });
}

void HistoryFetcher::add(HistoryWish wish) {
  ++body_->counts.asked;
  body_->waiting.push_back({std::move(wish), {}, 1, 0, {}});
  boost::asio::post(body_->io, [weak = std::weak_ptr(body_)] {
    if (const auto body = weak.lock()) body->go_on();
  });
}

void HistoryFetcher::cancel() {
  body_->client.cancel_all();
  body_->timer.cancel();
  body_->waiting.clear();
  body_->done = nullptr;
}

bool HistoryFetcher::is_busy() const { return body_->under_way > 0 || !body_->waiting.empty(); }
const HistoryFetcher::Counts& HistoryFetcher::counts() const { return body_->counts; }

}  // namespace brimwatch
