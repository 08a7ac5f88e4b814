#include "live/usable.h"

#include "adapters/channels/table.h"
#include "adapters/feeds/table.h"
#include "session/calendar.h"

namespace brimwatch {

LoadOptions usable(LoadOptions options) {
  options.calendars = Calendar::known();
  options.makers.refuse_feed = [](const FeedSettings& feed) { return objections_to(feed); };
  if (options.files) options.makers.doubt_feed = doubts_about;
  options.makers.refuse_channel = [](const ChannelSettings& channel) { return objections_to(channel); };
  return options;
}

Loaded load_usable(const std::string& path) { return load_settings(path, usable()); }

}  // namespace brimwatch
