#include "adapters/net/http.h"

#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cstring>
#include <stdexcept>
#include <string_view>
#include <utility>
#include <vector>

#include "adapters/libraries/curl.h"
#include "adapters/net/name_lookup.h"
#include "config/address.h"
#include "config/wipe.h"

namespace brimwatch {
namespace http_client {

namespace asio = boost::asio;

constexpr std::size_t kHeadersMost = 100;

/// One request on its way.
struct Transfer {
  HttpRequest request;
  HttpClient::Handler handler;
  HttpAnswer answer;
  CURL* easy = nullptr;
  curl_slist* headers = nullptr;
  curl_slist* addresses = nullptr;  ///< of the host, as CURLOPT_RESOLVE wants them
  std::uint64_t number = 0;
  bool too_long = false;
  std::string waiting;         ///< of a stream: what has come and has not been handed on
  bool begun = false;          ///< a stream's 200 has come
  bool announced = false;      ///< and has been handed on
  std::function<void()> wake;  ///< asks for waiting to be handed on, outside of curl's calls
  char error[CURL_ERROR_SIZE] = {};

  Transfer() = default;
  Transfer(const Transfer&) = delete;
  Transfer& operator=(const Transfer&) = delete;
  ~Transfer() {
    for (auto& [name, value] : request.headers) wipe(value);
    wipe(request.url);
    if (easy == nullptr) return;
    curl().easy_cleanup(easy);
    for (curl_slist* one = headers; one != nullptr; one = one->next) wipe(one->data, std::strlen(one->data));
    curl().slist_free_all(headers);
    curl().slist_free_all(addresses);
  }
};

std::size_t on_body(char* data, std::size_t, std::size_t count, void* user) {
  auto& transfer = *static_cast<Transfer*>(user);
  if (transfer.begun) {
    if (transfer.waiting.empty()) transfer.wake();
    transfer.waiting.append(data, count);
    return count;
  }
  if (transfer.answer.body.size() + count > transfer.request.body_bytes_most) {
    transfer.too_long = true;
    return 0;
  }
  transfer.answer.body.append(data, count);
  return count;
}

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == text.npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

/// The end of the headers: a stream begins, when it is one.
void begin_stream(Transfer& transfer) {
  long status = 0;
  curl().easy_getinfo(transfer.easy, CURLINFO_RESPONSE_CODE, &status);
  if (!transfer.request.on_stream || status != 200 || transfer.answer.is_other_type(transfer.request.stream_type)) return;
  transfer.begun = true;
  transfer.wake();
}

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; }

std::size_t on_header(char* data, std::size_t, std::size_t count, void* user) {
  auto& headers = static_cast<Transfer*>(user)->answer.headers;
  const std::string_view line(data, count);
  if (trimmed(line).empty()) begin_stream(*static_cast<Transfer*>(user));
  const std::size_t colon = line.find(':');
  if (colon == line.npos || headers.size() >= kHeadersMost) return count;
  std::string name(line.substr(0, colon));
  std::transform(name.begin(), name.end(), name.begin(), lower);
  headers[name] = trimmed(line.substr(colon + 1));
  return count;
}

struct Host {
  std::string name, port;
};

/// Whom we connect to: the proxy where there is one. By libcurl's own parser, so that it is the host that it will want.
Host host_to_find(const HttpRequest& request) {
  const std::string& proxy = request.proxy;
  const std::string address = proxy.empty() ? request.url : proxy.find("://") == proxy.npos ? "http://" + proxy : proxy;
  CURLU* const url = curl().url();
  const bool good = curl().url_set(url, CURLUPART_URL, address.c_str(), CURLU_NON_SUPPORT_SCHEME) == CURLUE_OK;
  const auto part = [url](CURLUPart which, unsigned flags) {
    char* text = nullptr;
    if (curl().url_get(url, which, &text, flags) != CURLUE_OK || text == nullptr) return std::string();
    std::string out(text);
    curl().free(text);
    return out;
  };
  Host host;
  if (good) host = {part(CURLUPART_HOST, 0), part(CURLUPART_PORT, proxy.empty() ? CURLU_DEFAULT_PORT : 0)};
  if (host.port.empty()) host.port = "1080";  // a proxy's, where none is said: libcurl's own default
  curl().url_cleanup(url);
  return host;
}

/// "+host:port:address,address": good for this client's other requests too, as long as libcurl keeps a name.
std::string resolve_entry(const Host& host, const NameLookup::Addresses& addresses) {
  std::string entry = "+" + host.name + ":" + host.port + ":";
  for (std::size_t i = 0; i < addresses.size(); ++i) {
    const bool six = addresses[i].find(':') != std::string::npos;
    entry += std::string(i == 0 ? "" : ",") + (six ? "[" : "") + addresses[i] + (six ? "]" : "");
  }
  return entry;
}

/// Empty when the request may be made.
std::string objection(const HttpRequest& request) {
  const auto address = parse_address(request.url);
  if (!address || address->has_user || (address->scheme != "https" && address->scheme != "http"))
    return "the url is not an https:// address without a name or password in it";
  if (address->scheme == "http" && !(request.insecure_loopback && is_loopback(*address)))
    return "http:// is not encrypted: https:// is needed, or insecure_loopback with 127.0.0.1 or [::1]";
  for (const auto& [name, value] : request.headers) {
    if ((name + value).find_first_of(std::string("\r\n\0", 3)) != std::string::npos) {
      return "header " + name.substr(0, name.find_first_of("\r\n")) + " has a line break in it";
    }
  }
  return {};
}

void set_options(Transfer& transfer) {
  CURL* easy = transfer.easy;
  const HttpRequest& request = transfer.request;
  curl().easy_setopt(easy, CURLOPT_URL, request.url.c_str());
  curl().easy_setopt(easy, CURLOPT_PROTOCOLS_STR, "http,https");
  curl().easy_setopt(easy, CURLOPT_FOLLOWLOCATION, 0L);
  curl().easy_setopt(easy, CURLOPT_NOSIGNAL, 1L);
  curl().easy_setopt(easy, CURLOPT_NETRC, static_cast<long>(CURL_NETRC_IGNORED));
  curl().easy_setopt(easy, CURLOPT_ACCEPT_ENCODING, "gzip");
  curl().easy_setopt(easy, CURLOPT_SSL_VERIFYPEER, 1L);
  curl().easy_setopt(easy, CURLOPT_SSL_VERIFYHOST, 2L);
  curl().easy_setopt(easy, CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
  if (!request.ca_file.empty()) {
    curl().easy_setopt(easy, CURLOPT_CAINFO, request.ca_file.c_str());
    curl().easy_setopt(easy, CURLOPT_CAPATH, nullptr);
  }
  // Always set: else the environment would choose a proxy.
  curl().easy_setopt(easy, CURLOPT_PROXY, request.proxy.c_str());
  curl().easy_setopt(easy, CURLOPT_NOPROXY, "");
  const bool endless = static_cast<bool>(request.on_stream);
  curl().easy_setopt(easy, CURLOPT_TIMEOUT_MS, endless ? 0L : static_cast<long>(request.timeout.count()));
  curl().easy_setopt(easy, CURLOPT_CONNECTTIMEOUT_MS, static_cast<long>(request.timeout.count()));
  curl().easy_setopt(easy, CURLOPT_TCP_KEEPALIVE, 1L);
  for (const auto& [name, value] : request.headers) {
    // An empty value needs the semicolon form, or curl takes the line for "leave this header out".
    const std::string line = value.empty() ? name + ";" : name + ": " + value;
    transfer.headers = curl().slist_append(transfer.headers, line.c_str());
  }
  curl().easy_setopt(easy, CURLOPT_HTTPHEADER, transfer.headers);
  if (!request.body.empty()) {
    curl().easy_setopt(easy, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(request.body.size()));
    curl().easy_setopt(easy, CURLOPT_POSTFIELDS, request.body.c_str());
  }
  curl().easy_setopt(easy, CURLOPT_WRITEFUNCTION, on_body);
  curl().easy_setopt(easy, CURLOPT_WRITEDATA, &transfer);
  curl().easy_setopt(easy, CURLOPT_HEADERFUNCTION, on_header);
  curl().easy_setopt(easy, CURLOPT_HEADERDATA, &transfer);
  curl().easy_setopt(easy, CURLOPT_ERRORBUFFER, transfer.error);
  curl().easy_setopt(easy, CURLOPT_PRIVATE, &transfer);
}

}  // namespace http_client

using namespace http_client;

/// curl says which descriptors to watch and when to wake it; the loop does both.
struct HttpClient::Body : std::enable_shared_from_this<HttpClient::Body> {
  explicit Body(asio::io_context& loop) : io(loop), timer(loop) {}
  ~Body() { shut(); }
  Body(const Body&) = delete;
  Body& operator=(const Body&) = delete;

  /// A descriptor of curl's, watched by the loop. The loop must let go of it before curl closes it.
  struct Watched {
    Watched(asio::io_context& loop, curl_socket_t descriptor) : stream(loop, descriptor) {}
    asio::posix::stream_descriptor stream;
    int wanted = 0;  ///< CURL_POLL_*
    bool reading = false, writing = false;
  };

  /// With the first request: who never makes one does not load the library. Empty, or why there can be none.
  std::string prepare() {
    if (multi != nullptr) return {};
    try {
      make_multi();
    } catch (const std::runtime_error& error) {
      return error.what();
    }
    return {};
  }

  void make_multi() {
    multi = curl().multi_init();
    curl().multi_setopt(multi, CURLMOPT_SOCKETFUNCTION, &Body::on_socket);
    curl().multi_setopt(multi, CURLMOPT_SOCKETDATA, this);
    curl().multi_setopt(multi, CURLMOPT_TIMERFUNCTION, &Body::on_timer);
    curl().multi_setopt(multi, CURLMOPT_TIMERDATA, this);
    curl().multi_setopt(multi, CURLMOPT_MAXCONNECTS, 8L);
  }

  static int on_socket(CURL*, curl_socket_t descriptor, int what, void* user, void*) {
    static_cast<Body*>(user)->watch(descriptor, what);
    return 0;
  }

  static int on_timer(CURLM*, long wait_ms, void* user) {
    auto* self = static_cast<Body*>(user);
    if (wait_ms < 0) return self->timer.cancel(), 0;
    self->timer.expires_after(std::chrono::milliseconds(wait_ms));
    self->timer.async_wait([weak = self->weak_from_this()](const boost::system::error_code& error) {
      const auto alive = weak.lock();
      if (!error && alive) alive->act(CURL_SOCKET_TIMEOUT, 0);
    });
    return 0;
  }

  void watch(curl_socket_t descriptor, int what) {
    if (what == CURL_POLL_REMOVE) {
      const auto found = watched.find(descriptor);
      if (found == watched.end()) return;
      (void)found->second->stream.release();  // cancels the waits; curl closes the descriptor itself
      watched.erase(found);
      return;
    }
    auto& entry = watched[descriptor];
    if (!entry) entry = std::make_shared<Watched>(io, descriptor);
    entry->wanted = what;
    wait(descriptor, entry);
  }

  void wait(curl_socket_t descriptor, const std::shared_ptr<Watched>& entry) {
    using Wait = asio::posix::stream_descriptor::wait_type;
    if ((entry->wanted & CURL_POLL_IN) != 0 && !entry->reading) {
      entry->reading = true;
      entry->stream.async_wait(Wait::wait_read, ready(descriptor, entry, CURL_CSELECT_IN));
    }
    if ((entry->wanted & CURL_POLL_OUT) != 0 && !entry->writing) {
      entry->writing = true;
      entry->stream.async_wait(Wait::wait_write, ready(descriptor, entry, CURL_CSELECT_OUT));
    }
  }

  std::function<void(const boost::system::error_code&)> ready(curl_socket_t descriptor, std::shared_ptr<Watched> entry,
                                                              int direction) {
    return [weak = weak_from_this(), descriptor, entry, direction](const boost::system::error_code& error) {
      (direction == CURL_CSELECT_IN ? entry->reading : entry->writing) = false;
      const auto self = weak.lock();
      const auto current = [&] {
        const auto found = self->watched.find(descriptor);
        return found != self->watched.end() && found->second == entry;
      };
      if (!self || error == asio::error::operation_aborted || !current()) return;
      self->act(descriptor, error ? CURL_CSELECT_ERR : direction);
      if (current()) self->wait(descriptor, entry);
    };
  }

  void act(curl_socket_t descriptor, int events) {
    int running = 0;
    curl().multi_socket_action(multi, descriptor, events, &running);
    take_finished();
  }

  void take_finished() {
    const auto self = shared_from_this();  // a handler may let go of the client
    int left = 0;
    while (CURLMsg* message = multi == nullptr ? nullptr : curl().multi_info_read(multi, &left)) {
      if (message->msg == CURLMSG_DONE) finish(message->easy_handle, message->data.result);
    }
  }

  void finish(CURL* easy, CURLcode result) {
    curl().multi_remove_handle(multi, easy);
    const auto found = std::find_if(transfers.begin(), transfers.end(), [&](const auto& t) { return t->easy == easy; });
    const auto transfer = std::move(*found);
    transfers.erase(found);
    if (transfer->begun) hand_on(*transfer);
    HttpAnswer& answer = transfer->answer;
    if (result == CURLE_OK) {
      long status = 0;
      curl().easy_getinfo(easy, CURLINFO_RESPONSE_CODE, &status);
      answer.status = static_cast<int>(status);
    } else {
      answer.error =
          transfer->too_long ? "the answer is longer than " + std::to_string(transfer->request.body_bytes_most) + " bytes"
          : result == CURLE_PARTIAL_FILE ? "the other side broke its answer off"
                                         : (transfer->error[0] != 0 ? transfer->error : curl().easy_strerror(result));
      answer.body.clear();
    }
    transfer->handler(answer);
  }

  void start(HttpRequest request, Handler handler) {
    std::string why = objection(request);
    if (why.empty()) why = prepare();
    if (!why.empty()) {
      asio::post(io, [weak = weak_from_this(), handler = std::move(handler), why] {
        HttpAnswer answer;
        answer.error = why;
        if (weak.lock()) handler(answer);
      });
      return;
    }
    auto transfer = std::make_unique<Transfer>();
    transfer->request = std::move(request);
    transfer->handler = std::move(handler);
    transfer->number = ++last_number;
    transfers.push_back(std::move(transfer));
    find_host(*transfers.back());
  }

  /// libcurl would wait for the name server on this thread, at the latest when a request is given up.
  void find_host(Transfer& transfer) {
    const Host host = host_to_find(transfer.request);
    if (host.name.empty() || is_address(host.name)) return begin(transfer);
    if (!names) names = std::make_unique<NameLookup>(io, transfer.request.timeout);
    names->find(host.name, [weak = weak_from_this(), number = transfer.number, host](const auto& found) {
      if (const auto self = weak.lock()) self->on_host(number, host, found);
    });
  }

  void on_host(std::uint64_t number, const Host& host, const Result<NameLookup::Addresses>& found) {
    const auto at = std::find_if(transfers.begin(), transfers.end(), [&](const auto& t) { return t->number == number; });
    if (at == transfers.end()) return;
    if (found) {
      (*at)->addresses = curl().slist_append(nullptr, resolve_entry(host, *found).c_str());
      return begin(**at);
    }
    const auto transfer = std::move(*at);
    transfers.erase(at);
    transfer->answer.error = found.error().text;
    transfer->handler(transfer->answer);
  }

  void begin(Transfer& transfer) {
    transfer.easy = curl().easy_init();
    if (transfer.request.on_stream) transfer.wake = waker(transfer.number);
    set_options(transfer);
    if (transfer.addresses != nullptr) curl().easy_setopt(transfer.easy, CURLOPT_RESOLVE, transfer.addresses);
    curl().multi_add_handle(multi, transfer.easy);
  }

  /// A handler may let go of the client, or stop the transfer, which curl does not allow within its own calls.
  std::function<void()> waker(std::uint64_t number) {
    return [this, number] {
      asio::post(io, [weak = weak_from_this(), number] {
        const auto self = weak.lock();
        if (!self) return;
        const auto& all = self->transfers;
        const auto found = std::find_if(all.begin(), all.end(), [&](const auto& t) { return t->number == number; });
        if (found == all.end()) return;
        hand_on(**found);
      });
    };
  }

  /// An answer may come whole, its beginning and its end at once: it has begun all the same.
  static void hand_on(Transfer& transfer) {
    const auto on_stream = transfer.request.on_stream;  // outlives the transfer, should it be stopped
    const std::string bytes = std::exchange(transfer.waiting, {});
    if (!std::exchange(transfer.announced, true)) on_stream({});
    if (!bytes.empty()) on_stream(bytes);
  }

  void cancel_all() {
    for (const auto& transfer : transfers)
      if (transfer->easy != nullptr) curl().multi_remove_handle(multi, transfer->easy);
    transfers.clear();
  }

  void shut() {
    if (multi == nullptr) return;
    cancel_all();
    timer.cancel();
    curl().multi_cleanup(multi);
    multi = nullptr;
    for (auto& [descriptor, entry] : watched) (void)entry->stream.release();
    watched.clear();
  }

  asio::io_context& io;
  asio::steady_timer timer;
  CURLM* multi = nullptr;
  std::vector<std::unique_ptr<Transfer>> transfers;
  std::uint64_t last_number = 0;
  std::unique_ptr<NameLookup> names;  ///< from the first name on
  std::map<curl_socket_t, std::shared_ptr<Watched>> watched;
};

std::string HttpAnswer::media_type() const {
  const auto found = headers.find("content-type");
  if (found == headers.end()) return {};
  std::string type(trimmed(std::string_view(found->second).substr(0, found->second.find(';'))));
  std::transform(type.begin(), type.end(), type.begin(), lower);
  return type;
}

bool HttpAnswer::is_other_type(std::string_view wanted) const {
  const std::string type = media_type();
  return !wanted.empty() && type != wanted && !type.empty() && type != "text/plain" && type != "application/octet-stream";
}

HttpClient::HttpClient(asio::io_context& io) : body_(std::make_shared<Body>(io)) {}
HttpClient::~HttpClient() { body_->shut(); }
void HttpClient::start(HttpRequest request, Handler handler) { body_->start(std::move(request), std::move(handler)); }
void HttpClient::cancel_all() { body_->cancel_all(); }
std::size_t HttpClient::under_way() const { return body_->transfers.size(); }

}  // namespace brimwatch
