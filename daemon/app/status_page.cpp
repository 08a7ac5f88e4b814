#include "app/status_page.h"

#include <charconv>
#include <random>

#include "app/snapshot_json.h"
#include "config/embedded.h"
#include "status/metrics.h"
#include "status/readiness.h"

namespace brimwatch {
namespace {

/// So that a page can tell a quiet market from a daemon that hangs.
constexpr int kRoundsSilentMost = 5;
constexpr const char* kPlainText = "text/plain; charset=utf-8";
constexpr std::string_view kBase = "/base/", kSvg = ".svg";
/// So that asking for a picture that is not there is no error in a browser's log; the page shows nothing so small.
constexpr std::string_view kNoPicture = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1\" height=\"1\"/>";

WebReply file(std::string_view name, const char* type) {
  for (const EmbeddedFile& one : embedded_page())
    if (one.name == name) return {200, type, std::string(one.text)};
  return {404, kPlainText, "there is no such page\n"};
}

WebReply for_nobody(const WebRequest& request) {
  for (const std::string_view name : {"page.css", "pair.js"})
    if (!request.post && request.path.substr(1) == name)
      return file(name, name.ends_with(".js") ? "text/javascript; charset=utf-8" : "text/css; charset=utf-8");
  WebReply page = file("pair.html", "text/html; charset=utf-8");
  page.status = request.path == "/pair" ? 200 : 401;
  return page;
}

constexpr std::string_view kDay = "/day/";

/// "BRK%2FB" -> "BRK/B"; what is no such escape stays.
std::string from_percent(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    unsigned value = 0;
    const char* const digits = text.data() + i + 1;
    const bool escape =
        text[i] == '%' && i + 2 < text.size() && std::from_chars(digits, digits + 2, value, 16).ptr == digits + 2;
    out += escape ? static_cast<char>(value) : text[i];
    i += escape ? 2 : 0;
  }
  return out;
}

/// A snapshot without what moves by itself, to tell whether something happened.
std::string essence(Snapshot snapshot) {
  snapshot.time = {};
  for (FeedRow& feed : snapshot.feeds) feed.silent_seconds = -1;
  return to_json(snapshot, std::chrono::seconds{0});
}

/// Nobody can guess it, and it is another after every start.
std::string random_word() {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::random_device source;
  std::string word;
  for (int i = 0; i < 32; ++i) word += kDigits[source() & 15U];
  return word;
}

using MakeText = std::string (*)(const Snapshot&, std::chrono::seconds offset);

std::string now_text(const Snapshot& snapshot, std::chrono::seconds offset) { return to_json(snapshot, offset) + "\n"; }
std::string metrics_of(const Snapshot& snapshot, std::chrono::seconds) { return metrics_text(snapshot); }
std::string readiness_of(const Snapshot& snapshot, std::chrono::seconds) { return readiness_text(snapshot); }
std::string live_text(const Snapshot& snapshot, std::chrono::seconds offset) {
  return essence(snapshot) + '\0' + to_json(snapshot, offset);
}

SharedText text_of(const StatusPage::Source& source, MakeText make) {
  const auto gather = [snapshot = source.snapshot, offset = source.offset, make]() -> std::function<std::string()> {
    return [gathered = std::make_shared<const Snapshot>(snapshot()), at = offset(), make] { return make(*gathered, at); };
  };
  return SharedText(gather, source.aside, source.steady, {});
}

}  // namespace

StatusPage::StatusPage(Source source)
    : source_(std::move(source)),
      token_(random_word()),
      now_(text_of(source_, now_text)),
      metrics_(text_of(source_, metrics_of)),
      readiness_(text_of(source_, readiness_of)),
      live_(text_of(source_, live_text)) {}

Result<std::unique_ptr<StatusPage>> StatusPage::open(boost::asio::io_context& loop, int port, bool everybody,
                                                     Source source) {
  std::unique_ptr<StatusPage> page(new StatusPage(std::move(source)));
  WebLimits limits;
  limits.everybody = everybody;
  auto server = WebServer::listen(loop, port, page->content(), limits);
  if (!server) return fail(server.error().text);
  page->server_ = std::move(*server);
  return page;
}

Status StatusPage::open_to_devices(boost::asio::io_context& loop, const WebPlace& place) {
  far_.reset();
  WebServer::Content all = content();
  all.visitor = source_.visitor;
  auto server = WebServer::listen(loop, place, std::move(all));
  if (!server) return fail(server.error().text);
  far_ = std::move(*server);
  return {};
}

WebServer::Content StatusPage::content() {
  WebServer::Content content;
  content.answer = [this](const WebRequest& request, const auto& reply) { answer(request, reply); };
  content.live = [this](bool fresh, auto text) { live(fresh, std::move(text)); };
  return content;
}

std::string StatusPage::address() const { return "http://127.0.0.1:" + std::to_string(server_->port()) + "/"; }

/// Who is nobody is shown how to pair, whatever they ask for; but a probe has no device, and is told a word.
void StatusPage::answer(const WebRequest& request, const WebServer::Content::Reply& reply) const {
  const std::string_view path = request.path;
  const bool may_look = request.visitor.right != DeviceRight::none;
  if (path == "/healthz" && !request.post) return reply({200, kPlainText, std::string("ok\n")});
  if (path == "/readyz" && !request.post) return readiness(may_look, reply);
  if (source_.devices && source_.devices(request, reply)) return;
  if (!may_look) return reply(for_nobody(request));
  if (request.post) return post(request, reply);
  if (path == "/now") return now_.get([reply](const auto& text) { reply({200, "application/json", text}); });
  if (path == "/metrics")
    return metrics_.get([reply](const auto& text) { reply({200, std::string(kMetricsType), text}); });
  reply(ready(path));
}

/// What is amiss is for those who may look.
void StatusPage::readiness(bool may_look, const WebServer::Content::Reply& reply) const {
  readiness_.get([may_look, reply](const SharedText::Text& text) {
    const bool ready = text->starts_with("ready");
    const std::string word = text->substr(0, text->find('\n') + 1);
    reply({ready ? 200 : 503, kPlainText, may_look ? *text : word});
  });
}

void StatusPage::post(const WebRequest& request, const WebServer::Content::Reply& reply) const {
  if (request.visitor.right != DeviceRight::answer)
    return reply({403, "application/json", std::string("{\"error\":\"this device may look, not answer\"}\n")});
  constexpr std::string_view kAnswer = "/answer?token=";
  if (!source_.post || !request.path.starts_with("/answer"))
    return reply({404, "application/json", std::string("{\"error\":\"nothing is answered there\"}\n")});
  if (!request.path.starts_with(kAnswer) || request.path.substr(kAnswer.size()) != token_)
    return reply(
        {403, "application/json", std::string("{\"error\":\"the page is of an earlier start; load it anew\"}\n")});
  source_.post(request, [reply](std::string json, bool done) {
    reply({done ? 200 : 422, "application/json", std::move(json)});
  });
}

WebReply StatusPage::ready(std::string_view path) const {
  if (path == "/page.css") return file("page.css", "text/css; charset=utf-8");
  if (path.starts_with("/") && path.ends_with(".js")) return file(path.substr(1), "text/javascript; charset=utf-8");
  if (path == "/app.webmanifest") return file("app.webmanifest", "application/manifest+json");
  if (path.starts_with(kDay)) return {200, "application/json", day(path.substr(kDay.size())) + "\n"};
  if (path == "/token") return {200, "application/json", "{\"token\":\"" + token_ + "\"}\n"};
  if (path == "/days") return {200, "application/json", (source_.days ? source_.days() : "{}") + "\n"};
  if (path.starts_with(kBase) && path.ends_with(kSvg) && path.size() > kBase.size() + kSvg.size() && source_.base) {
    const std::string svg = source_.base(path.substr(kBase.size(), path.size() - kBase.size() - kSvg.size()));
    return {200, "image/svg+xml", svg.empty() ? std::string(kNoPicture) : svg};
  }
  return file(path == "/" ? "page.html" : "", "text/html; charset=utf-8");
}

std::string StatusPage::day(std::string_view symbol) const {
  return source_.day ? source_.day(from_percent(symbol)) : "{}";
}

void StatusPage::live(bool fresh, WebServer::Content::Text text) {
  live_.get([this, alive = std::weak_ptr(alive_), fresh, text = std::move(text)](const SharedText::Text& both) {
    if (alive.expired() || (!fresh && !is_news(*both))) return;
    text(std::make_shared<const std::string>(*both, both->find('\0') + 1));
  });
}

/// Something happened, or so much time has passed that a page would think us dead.
bool StatusPage::is_news(const std::string& with_essence) {
  std::string told = with_essence.substr(0, with_essence.find('\0'));
  if (told == last_told_ && ++rounds_silent_ < kRoundsSilentMost) return false;
  last_told_ = std::move(told);
  rounds_silent_ = 0;
  return true;
}

}  // namespace brimwatch
