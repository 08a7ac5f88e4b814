#include "adapters/feeds/table.h"

#include <array>

#include "adapters/feeds/connections/events.h"
#include "adapters/feeds/connections/pipe.h"
#include "adapters/feeds/connections/poll.h"
#include "adapters/feeds/connections/stream.h"
#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/decoding/mapping.h"
#include "adapters/feeds/template.h"

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

void doubt_places(const std::string& key, std::string_view text, std::vector<std::string>& doubts) {
  for (const std::string& place : unknown_places(text))
    doubts.push_back(
        key + ": found " + place +
        ", which stays as it is; {secret}, {symbols}, {symbols_json} and {symbol} are filled in, and {value} in replies");
}

}  // namespace

std::vector<std::string> objections_to(const FeedSettings& settings) {
  if (settings.kind == "tape") return {};
  return mapping_problems(with_usual_kind(settings));
}

std::vector<std::string> doubts_about(const FeedSettings& settings) {
  std::vector<std::string> doubts;
  doubt_places("url", settings.url, doubts);
  for (const auto& [name, value] : settings.headers) doubt_places("headers." + name, value, doubts);
  for (const std::string& message : settings.hello) doubt_places("hello", message, doubts);
  doubt_places("subscribe", settings.subscribe, doubts);
  doubt_places("unsubscribe", settings.unsubscribe, doubts);
  doubt_places("ping", settings.ping, doubts);
  for (const SourceReply& reply : settings.replies) doubt_places("replies.send", reply.send, doubts);
  if (!settings.subscribe.empty() && !mentions_symbols(settings.subscribe))
    doubts.push_back("subscribe: found no {symbols}, {symbols_json} or {symbol}, so that the source is never told which");
  if (settings.kind == "pipe" && settings.command.empty())
    doubts.push_back(
        "command: found none, so that standard input is read; a service manager gives none, and then brimwatch run "
        "does not start");
  return doubts;
}

Result<std::unique_ptr<Feed>> make_feed(const FeedSettings& settings, const FeedContext& context) {
  std::string kinds;
  for (const auto& entry : kTable) {
    if (settings.kind == entry.kind) return entry.make(settings, context);
    kinds += (kinds.empty() ? "" : ", ") + std::string(entry.kind);
  }
  return fail("feed \"" + settings.name + "\": kind: found \"" + settings.kind + "\", expected one of " + kinds);
}

}  // namespace brimwatch
