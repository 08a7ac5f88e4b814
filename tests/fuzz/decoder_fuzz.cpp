// Any bytes as frames of a feed, under mappings of several kinds: whatever comes is a tick that makes sense, or counted.
// The first byte chooses the mapping. The same frame gives the same ticks in a second decoder; a stream cut into lines in
// other places gives the same lines.
#include <cstdint>
#include <cstdlib>
#include <string>
#include <vector>

#include "adapters/feeds/connections/line_splitter.h"
#include "adapters/feeds/decoding/decoder.h"

namespace {

using namespace brimwatch;

constexpr Timestamp kNow{1'764'086'400'000'000'000};

void require(bool good) {
  if (!good) std::abort();
}

FeedSettings flat() {
  FeedSettings settings;
  settings.fields.symbol = "/symbol";
  settings.fields.price = "/price";
  settings.fields.size = "/size";
  settings.fields.time = "/time";
  settings.fields.conditions = "/conditions";
  settings.fields.id = "/id";
  settings.fields.kind = "/kind";
  settings.fields.status = "/status";
  settings.fields.bid = "/bid";
  settings.fields.ask = "/ask";
  settings.fields.day_volume = "/day_volume";
  return settings;
}

FeedSettings nested() {
  FeedSettings settings;
  settings.fields.messages = "/data";
  settings.fields.symbol = "key";
  settings.fields.price = "/0/p~1x";
  settings.fields.size = "/0/q";
  settings.fields.time = "frame:/t";
  settings.fields.time_format = "ms";
  settings.fields.sequence = "frame:/n";
  settings.symbol_form = "{symbol}.US";
  settings.default_kind = "day";
  settings.rules = {{"/e", "T", "trade"}, {"/e", "X", "cancel"}, {"/e", "ok", "accepted"}, {"/e", "no", "refused"}};
  return settings;
}

FeedSettings words() {
  FeedSettings settings = flat();
  settings.fields.time_format = "ns";
  settings.fields.old_price = "/old/price";
  settings.fields.old_size = "/old/size";
  settings.fields.low = "/l";
  settings.fields.high = "/h";
  settings.kind_words = {{"t", "trade"}, {"b", "bar"}, {"c", "correct"}, {"s", "status"}, {"q", "quote"}};
  settings.status_words = {{"H", "halted"}, {"T", "trading"}};
  settings.condition_words = {{"odd", "I"}, {"@", ""}};
  settings.exchange_words = {{"11", "P"}};
  settings.fields.exchange = "/x";
  settings.default_kind = "";
  return settings;
}

FeedSettings columns() {
  FeedSettings settings = flat();
  settings.columns = true;
  settings.fields.messages = "/d";
  settings.time_zone = "America/New_York";
  settings.fields.odd_lot = "/odd";
  settings.replies = {{"frame:/ping", "*", "{value}"}};
  return settings;
}

FeedSettings places() {
  FeedSettings settings;
  settings.fields.messages = "/x";
  settings.fields.symbol = "/0";
  settings.fields.price = "/1";
  settings.fields.size = "/2";
  settings.fields.conditions = "/4";
  settings.fields_of["quote"].ask = "/4/0";
  settings.fields_of["naming"].messages = "/n";
  settings.fields_of["naming"].number = "/1";
  settings.fields_of["day"].messages = "/m";
  settings.fields_of["day"].symbol = "key";
  settings.symbol_words = {{"9", "A"}};
  settings.price_decimals = 4;
  settings.lot_size = 100;
  settings.odd_lot_below = 100;
  return settings;
}

FeedSettings wrapped(const char* packing, const char* encoding, const char* kind) {
  FeedSettings settings = flat();
  settings.packing = packing;
  settings.encoding = encoding;
  settings.kind = kind;
  settings.fields.kind = std::string_view(kind) == "events" ? "event" : "/kind";
  return settings;
}

const std::vector<FeedSettings>& mappings() {
  static const std::vector<FeedSettings> kAll{flat(),
                                              nested(),
                                              words(),
                                              columns(),
                                              places(),
                                              wrapped("none", "msgpack", "stream"),
                                              wrapped("gzip", "json", "stream"),
                                              wrapped("deflate", "msgpack", "stream"),
                                              wrapped("zstd", "json", "stream"),
                                              wrapped("none", "json", "events")};
  return kAll;
}

void check(const Decoded& out, const DecodeCounts& counts, const std::string& problem) {
  require(out.ticks.size() == counts.ticks);
  require(out.sequences.empty() || out.sequences.size() == out.ticks.size());
  require(counts.messages == counts.ticks + counts.malformed + counts.unknown + counts.ignored + counts.unwatched);
  require(problem.find('\n') == std::string::npos && problem.find('\r') == std::string::npos);
  for (const Tick& tick : out.ticks) {
    require(tick.symbol != kNoSymbol && tick.time.is_set() && tick.received == kNow);
    require(tick.kind != TickKind::hole);
  }
  for (const SourceVerdict& answer : out.answers) require(answer.text.size() <= 200);
}

void check_lines(std::string_view bytes) {
  std::vector<std::string> whole, pieces;
  const std::string dropped(65, '!');  // longer than any line that is given
  LineSplitter one(
      64, [&](std::string_view line) { whole.emplace_back(line); }, [&] { whole.push_back(dropped); });
  LineSplitter two(
      64, [&](std::string_view line) { pieces.emplace_back(line); }, [&] { pieces.push_back(dropped); });
  one.add(bytes), one.finish();
  for (std::size_t at = 0, n = 1; at < bytes.size(); at += n, n = n % 7 + 1) two.add(bytes.substr(at, n));
  two.finish();
  require(whole == pieces);
  for (const std::string& line : whole) require(line.size() <= 64 || line == dropped);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const FeedSettings& settings = mappings()[data[0] % mappings().size()];
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  SymbolTable first_symbols, second_symbols;
  auto first = Decoder::make(settings, first_symbols), second = Decoder::make(settings, second_symbols);
  require(first.has_value() && second.has_value());
  if (data[0] & 0x80) first->want({"KLVN", "A"}), second->want({"KLVN", "A"});
  Decoded out, again;
  first->decode(bytes, kNow, out);
  second->decode(bytes, kNow, again);
  check(out, first->counts(), first->last_problem());
  require(out.ticks.size() == again.ticks.size());
  for (std::size_t i = 0; i < out.ticks.size(); ++i) {
    require(out.ticks[i].price == again.ticks[i].price && out.ticks[i].time == again.ticks[i].time);
  }
  check_lines(bytes);
  return 0;
}
