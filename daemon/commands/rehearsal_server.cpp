#include "commands/rehearsal_server.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <charconv>

#include "core/text/json.h"
#include "loop/clock.h"

namespace brimwatch {
namespace {

constexpr int kStepsATurn = 20'000;            // then the loop gets its turn
constexpr std::size_t kFrameBytes = 48 << 10;  // a frame of messages is sent when it is this long

SourceOptions source_options(const RehearsalOptions& options, const std::shared_ptr<const Calendar>& calendar) {
  SourceOptions out;
  out.speed = options.speed;
  out.seed = options.seed;
  out.misbehaviours = options.misbehaviours;
  out.moment = [calendar](Timestamp time, int second) {
    const Nanos local = time.ns + calendar->offset(time).count() * kSecond;
    return time - local % kDayNanos + second * kSecond;
  };
  return out;
}

std::string undo_percent(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    unsigned byte = 0;
    const char* const digits = text.data() + i + 1;
    if (text[i] == '%' && i + 2 < text.size() && std::from_chars(digits, digits + 2, byte, 16).ptr == digits + 2) {
      out += static_cast<char>(byte);
      i += 2;
    } else {
      out += text[i];
    }
  }
  return out;
}

}  // namespace

Result<std::unique_ptr<RehearsalServer>> RehearsalServer::open(boost::asio::io_context& io, RehearsalOptions options,
                                                               Say say) {
  std::unique_ptr<RehearsalServer> out(new RehearsalServer(io, std::move(options), std::move(say)));
  auto reader = TapeReader::open(out->options_.tape, out->symbols_);
  if (!reader) return fail(reader.error().text);
  out->reader_ = std::move(*reader);
  auto calendar = Calendar::load(out->options_.calendar, {});
  if (!calendar) return fail(calendar.error().text);
  out->calendar_ = std::move(*calendar);
  out->source_ = RehearsalSource(source_options(out->options_, out->calendar_));
  RehearsalServer* const self = out.get();
  PushServer::Handlers handlers;
  handlers.on_open = [self](PushServer::Client client) { self->listeners_[client]; };
  handlers.on_text = [self](PushServer::Client client, std::string_view text) { self->on_text(client, text); };
  handlers.on_end = [self](PushServer::Client client, const std::string& why) {
    self->listeners_.erase(client);
    self->say_("a client " + why);
  };
  handlers.answer = [self](std::string_view target, std::string_view tag) { return self->answer(target, tag); };
  auto server = PushServer::listen(io, out->options_.port, std::move(handlers));
  if (!server) return fail(server.error().text);
  out->server_ = std::move(*server);
  return out;
}

RehearsalServer::RehearsalServer(boost::asio::io_context& io, RehearsalOptions options, Say say)
    : io_(io), options_(std::move(options)), say_(std::move(say)), source_({}), timer_(io), return_timer_(io) {}

int RehearsalServer::second_of_day(Timestamp time) const {
  return static_cast<int>((time.ns + calendar_->offset(time).count() * kSecond) % kDayNanos / kSecond);
}

// --- what clients say

void RehearsalServer::on_text(PushServer::Client client, std::string_view text) {
  const auto found = listeners_.find(client);
  if (found == listeners_.end()) return;
  server_->send(client, std::make_shared<const std::string>(answer_to(found->second, text)));
}

std::string RehearsalServer::answer_to(Listener& listener, std::string_view text) {
  const auto message = Json::parse(text, nullptr, false);
  const std::string what = message.is_object() ? message.value("do", Json("")).dump() : "";
  if (options_.as != ServeAs::stream) return R"({"answer":"this source is polled: GET /quotes?symbols=A,B"})";
  if (what == "\"hello\"") return R"({"answer":"welcome"})";
  if (what != "\"watch\"" && what != "\"forget\"")
    return R"({"answer":"not understood; known are hello, watch, forget"})";
  for (const auto& name : message.value("symbols", Json::array())) {
    if (!name.is_string()) continue;
    const SymbolId id = symbols_.intern(name.get<std::string>());
    if (id >= listener.wanted.size()) listener.wanted.resize(id + 1);
    listener.wanted[id] = what == "\"watch\"";
  }
  say_("a client says " + std::string(text.substr(0, 200)));
  begin();
  return R"({"answer":"done"})";
}

PushReply RehearsalServer::answer(std::string_view target, std::string_view if_none_match) {
  constexpr std::string_view kQuotes = "/quotes?symbols=";
  if (options_.as != ServeAs::poll || target.substr(0, kQuotes.size()) != kQuotes)
    return {404, "{\"error\":\"there is only /quotes?symbols=A,B\"}\n", ""};
  begin();
  if (status_once_ != 0) return {std::exchange(status_once_, 0), "{\"error\":\"as asked for\"}\n", ""};
  const std::string tag = "\"" + std::to_string(snapshots_.version()) + "\"";
  if (if_none_match == tag) return {304, "", tag};
  std::vector<SymbolId> wanted;
  const std::string names = undo_percent(target.substr(kQuotes.size()));
  for (std::size_t at = 0; at <= names.size();) {
    const std::size_t comma = std::min(names.find(',', at), names.size());
    const SymbolId id = symbols_.find(std::string_view(names).substr(at, comma - at));
    if (id != kNoSymbol) wanted.push_back(id);
    at = comma + 1;
  }
  ++sent_;
  const std::string body = snapshots_.json(wanted, symbols_);
  if (garble_once_ != 0) return {200, garbled(body, std::exchange(garble_once_, 0)), ""};
  return {200, body, tag};
}

// --- the tape

void RehearsalServer::begin() {
  if (std::exchange(begun_, true)) return;
  started_ = steady_now();
  say_("the tape begins");
  boost::asio::post(io_, [this] { turn(); });
}

void RehearsalServer::refill(Nanos now) {
  while (source_.wants_more(now)) {
    const auto ticks = reader_->next();
    if (!ticks) say_(ticks.error().text + "; the tape ends here");
    if (!ticks || ticks->empty()) return source_.end();
    for (const Tick& tick : *ticks) {
      if (options_.from_second == 0 || second_of_day(tick.time) >= options_.from_second) source_.add(tick);
    }
  }
}

/// Does what is due, then waits for what comes next.
void RehearsalServer::turn() {
  const Nanos now = steady_now() - started_;
  int left = kStepsATurn;
  for (; left > 0; --left) {
    refill(now);
    const auto step = source_.next(now);
    if (!step) break;
    perform(*step);
  }
  for (auto& [client, listener] : listeners_) flush(client, listener);
  if (source_.ended()) {
    if (!std::exchange(told_end_, true)) say_("the tape has ended: " + summary() + "; nothing more comes");
    return;
  }
  if (left == 0) return boost::asio::post(io_, [this] { turn(); });
  timer_.expires_after(std::chrono::nanoseconds(std::max<Nanos>(source_.next_due().value_or(now) - now, 0)));
  timer_.async_wait([this](const boost::system::error_code& error) {
    if (!error) turn();
  });
}

void RehearsalServer::perform(const SourceStep& step) {
  const bool poll = options_.as == ServeAs::poll;
  switch (step.kind) {
    case SourceStep::Kind::message:
      return send(step);
    case SourceStep::Kind::close:
      say_("closing with " + std::to_string(step.code) + ", as asked for");
      for (auto& [client, listener] : listeners_) flush(client, listener);
      if (poll) status_once_ = step.code;
      else server_->close_all(step.code);
      return;
    case SourceStep::Kind::cut:
      say_("cutting the connections, as asked for");
      return server_->cut_all();
    case SourceStep::Kind::away:
      return go_away(step.span);
  }
}

void RehearsalServer::go_away(Nanos span) {
  say_("away, as asked for");
  server_->set_away(true);
  return_timer_.expires_after(std::chrono::nanoseconds(span));
  return_timer_.async_wait([this](const boost::system::error_code& error) {
    if (error) return;
    server_->set_away(false);
    say_("back again");
  });
}

void RehearsalServer::send(const SourceStep& step) {
  if (options_.as == ServeAs::poll) {
    snapshots_.take(step.tick);
    if (step.garble != 0) garble_once_ = step.garble;
    return;
  }
  text_.clear();
  for (auto& [client, listener] : listeners_) {
    const SymbolId id = step.tick.symbol;
    if (id >= listener.wanted.size() || !listener.wanted[id]) continue;
    if (text_.empty()) append_message(text_, step.tick, symbols_.name(id), step.number);
    ++sent_;
    if (step.garble != 0) {  // alone in its frame: it must not take others with it
      flush(client, listener);
      server_->send(client, std::make_shared<const std::string>(garbled(text_, step.garble)));
      continue;
    }
    listener.batch += listener.batch.empty() ? '[' : ',';
    listener.batch += text_;
    if (listener.batch.size() > kFrameBytes) flush(client, listener);
  }
}

void RehearsalServer::flush(PushServer::Client client, Listener& listener) {
  if (listener.batch.empty()) return;
  listener.batch += ']';
  server_->send(client, std::make_shared<const std::string>(std::exchange(listener.batch, {})));
}

std::string RehearsalServer::summary() const {
  const SourceCounts& counts = source_.counts();
  std::string out = std::to_string(counts.messages) + " messages on the tape, " + std::to_string(sent_) +
                    (options_.as == ServeAs::poll ? " snapshots answered" : " sent");
  const auto add = [&](std::uint64_t count, const char* what) {
    if (count > 0) out += ", " + std::to_string(count) + " " + what;
  };
  add(counts.dropped, "dropped");
  add(counts.garbled, "garbled");
  add(counts.doubled, "doubled");
  add(counts.reordered, "out of order");
  add(server_->counters().too_slow, "clients too slow");
  return out;
}

}  // namespace brimwatch
