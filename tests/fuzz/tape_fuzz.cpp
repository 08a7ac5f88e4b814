// A tape of any bytes: no crash, and fast and plain path agree. Unpacking is fuzzed too, for the format is told by
// content.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "tape/reader.h"

namespace {

using namespace brimwatch;

struct Sum {
  std::uint64_t ticks = 0, rows = 0, malformed = 0, hash = 0;
  bool torn = false;
  std::string error;
  bool operator==(const Sum&) const = default;
};

OpenedBytes opened(const std::string& text) {
  OpenedBytes out;
  out.name = "fuzz";
  out.bytes = memory_bytes(text);
  if (text.starts_with("\x28\xB5\x2F\xFD")) out.bytes = unzstd(std::move(out.bytes), "fuzz");
  if (text.starts_with("\x1F\x8B")) out.bytes = gunzip(std::move(out.bytes), "fuzz");
  return out;
}

Sum read(const std::string& text, bool plain_path) {
  Sum sum;
  SymbolTable symbols;
  TapeOptions options;
  options.plain_path = plain_path;
  options.most_bad_share = 1;
  auto reader = TapeReader::open(opened(text), symbols, options);
  if (!reader) return sum.error = reader.error().text, sum;
  for (;;) {
    const auto batch = (*reader)->next();
    if (!batch) sum.error = batch.error().text;
    if (!batch || batch->empty()) break;
    for (const Tick& tick : *batch) {
      const std::int64_t values[] = {tick.time.ns,
                                     tick.received.ns,
                                     tick.price.micros,
                                     tick.size.micros,
                                     tick.day_volume.micros,
                                     tick.bid.micros,
                                     tick.ask.micros,
                                     static_cast<std::int64_t>(tick.id),
                                     tick.symbol,
                                     tick.exchange};
      for (const std::int64_t value : values) sum.hash = sum.hash * 31 + static_cast<std::uint64_t>(value);
    }
  }
  const TapeStats& stats = (*reader)->stats();
  sum.ticks = stats.ticks;
  sum.rows = stats.rows;
  sum.malformed = stats.malformed;
  sum.torn = stats.torn;
  return sum;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  if (read(text, false) != read(text, true)) std::abort();
  return 0;
}
