#include "rehearsal/message.h"

#include <cstdio>

#include "core/text/timestamp.h"

namespace brimwatch {
namespace {

std::string_view word(TickKind kind) {
  switch (kind) {
    case TickKind::trade:
      return "trade";
    case TickKind::quote:
      return "quote";
    case TickKind::cancel:
      return "cancel";
    case TickKind::correct:
      return "correct";
    case TickKind::status:
      return "status";
    case TickKind::bar:
      return "bar";
    case TickKind::day:
      return "day";
    case TickKind::hole:
      break;
  }
  return "hole";
}

std::string_view word(TradingStatus status) {
  switch (status) {
    case TradingStatus::trading:
      return "trading";
    case TradingStatus::halted:
      return "halted";
    case TradingStatus::paused:
      return "paused";
    case TradingStatus::quotation:
      return "quotation";
    case TradingStatus::none:
      break;
  }
  return "";
}

class Object {
 public:
  explicit Object(std::string& out) : out_(out) { out_ += '{'; }
  ~Object() { out_ += '}'; }
  Object(const Object&) = delete;
  Object& operator=(const Object&) = delete;

  void text(std::string_view name, std::string_view value) {
    if (value.empty()) return;
    begin(name);
    append_json_text(out_, value);
  }
  void number(std::string_view name, std::uint64_t value) {
    begin(name);
    out_ += std::to_string(value);
  }
  void micros(std::string_view name, std::int64_t value, int least) {
    if (value == 0) return;
    begin(name);
    out_ += '"';
    out_ += format_micros(value, least);
    out_ += '"';
  }
  void price(std::string_view name, Price value) { micros(name, value.micros, 2); }
  void shares(std::string_view name, Shares value) { micros(name, value.micros, 0); }

 private:
  void begin(std::string_view name) {
    if (out_.back() != '{') out_ += ',';
    out_ += '"';
    out_ += name;
    out_ += "\":";
  }
  std::string& out_;
};

constexpr const char* kFields = R"([feed.fields]
symbol = "/symbol"
kind = "/kind"
time = "/time"
price = "/price"
size = "/size"
conditions = "/conditions"
exchange = "/exchange"
id = "/id"
day_volume = "/day_volume"
bid = "/bid"
ask = "/ask"
bid_size = "/bid_size"
ask_size = "/ask_size"
low = "/low"
high = "/high"
old_price = "/old_price"
old_size = "/old_size"
status = "/status"
sequence = "/n"
)";

constexpr const char* kStream = R"(hello = ['{"do":"hello"}']
subscribe = '{"do":"watch","symbols":{symbols_json}}'
unsubscribe = '{"do":"forget","symbols":{symbols_json}}'
sequence_by_symbol = true
conditions = "cts"
rules = [
  { at = "/answer", equals = "welcome", kind = "accepted" },
  { at = "/answer", equals = "done", kind = "ignore" },
  { at = "/answer", equals = "*", kind = "refused" },
]
)";

constexpr const char* kPoll = R"(interval = 1
default_kind = "day"
fields = { messages = "/quotes", symbol = "/symbol", time = "/time", price = "/price", day_volume = "/day_volume", bid = "/bid", ask = "/ask" }
)";

}  // namespace

void append_json_text(std::string& out, std::string_view text) {
  out += '"';
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (byte < 0x20) {
      char code[8];
      std::snprintf(code, sizeof code, "\\u%04x", static_cast<unsigned>(byte));
      out += code;
    } else {
      out += c;
    }
  }
  out += '"';
}

void append_message(std::string& out, const Tick& tick, std::string_view symbol, std::uint64_t number) {
  Object object(out);
  object.text("kind", word(tick.kind));
  object.text("symbol", symbol);
  object.text("time", to_rfc3339(tick.time));
  object.price("price", tick.price);
  object.shares("size", tick.size);
  if (tick.kind == TickKind::trade && tick.size.micros == 0) object.text("size", "0");  // a trade of none is one
  object.text("conditions", tick.conditions.view());
  if (tick.exchange != '\0') object.text("exchange", {&tick.exchange, 1});
  if (tick.id != 0) object.text("id", std::to_string(tick.id));
  object.shares("day_volume", tick.day_volume);
  const bool bar = tick.kind == TickKind::bar, correct = tick.kind == TickKind::correct;
  object.price(bar ? "low" : correct ? "old_price" : "bid", tick.bid);
  object.price(bar ? "high" : "ask", tick.ask);
  object.shares(correct ? "old_size" : "bid_size", tick.bid_size);
  object.shares("ask_size", tick.ask_size);
  object.text("status", word(tick.status));
  object.number("n", number);
}

std::string garbled(const std::string& message, std::uint64_t choice) {
  std::string out = message;
  const std::size_t at = 1 + (choice >> 8) % (out.size() - 1);
  switch ((choice >> 1) % 4) {
    case 0:
      out.resize(at);
      break;
    case 1:
      out[at] = '\x01';
      break;
    case 2:
      out.replace(out.size() - 1, 1, R"(,"symbol":"TWICE"})");
      break;
    default:
      out = R"({"kind":"trade","symbol":"?","price":"four","n":0})";
  }
  return out;
}

std::string feed_configuration(ServeAs as, int port, double speed) {
  const bool stream = as == ServeAs::stream;
  char head[400];
  std::snprintf(head, sizeof head,
                "[[feed]]\nname = \"rehearsal\"\nkind = \"%s\"\nurl = \"%s\"\ninsecure_loopback = true\nrehearsal = %g\n",
                stream ? "stream" : "poll",
                ((stream ? "ws://127.0.0.1:" : "http://127.0.0.1:") + std::to_string(port) +
                 (stream ? "/stream" : "/quotes?symbols={symbols}"))
                    .c_str(),
                speed);
  return stream ? std::string(head) + kStream + kFields : std::string(head) + kPoll;
}

}  // namespace brimwatch
