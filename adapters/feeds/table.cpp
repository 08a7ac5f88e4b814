#include "adapters/feeds/table.h"

#include <array>

#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/events.h"
#include "adapters/feeds/pipe.h"
#include "adapters/feeds/poll.h"
#include "adapters/feeds/stream.h"

namespace brimwatch {
namespace {

using Make = Result<std::unique_ptr<Feed>> (*)(const FeedSettings&, const FeedContext&);

/// Of the kinds that read JSON: with a decoder made from the field map.
template <std::unique_ptr<Feed> (*make)(const FeedSettings&, const FeedContext&, Decoder)>
Result<std::unique_ptr<Feed>> with_decoder(const FeedSettings& settings, const FeedContext& context) {
  auto decoder = Decoder::make(settings, context.symbols);
  if (!decoder) return tl::unexpected(decoder.error());
  return make(settings, context, std::move(*decoder));
}

struct Entry {
  const char* kind;
  Make make;
};

constexpr std::array kTable{
    Entry{"pipe", &with_decoder<make_pipe_feed>},
    Entry{"stream", &with_decoder<make_stream_feed>},
    Entry{"poll", &make_poll_feed},
    Entry{"events", &with_decoder<make_events_feed>},
};

}  // namespace

Result<std::unique_ptr<Feed>> make_feed(const FeedSettings& settings, const FeedContext& context) {
  std::string kinds;
  for (const auto& entry : kTable) {
    if (settings.kind == entry.kind) return entry.make(settings, context);
    kinds += (kinds.empty() ? "" : ", ") + std::string(entry.kind);
  }
  return fail("feed \"" + settings.name + "\": kind: found \"" + settings.kind + "\", expected one of " + kinds);
}

}  // namespace brimwatch
