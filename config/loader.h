#pragma once
// Reads the configuration and all watch lists it names, checks everything, and tells everything that is wrong at once.
//
// All or nothing: with one problem the settings are not to be used. Any thread; touches only the files named.
#include <functional>
#include <string>
#include <vector>

#include "config/reading/problem.h"
#include "config/settings.h"

namespace brimwatch {

struct Loaded {
  Settings settings;  ///< whole only when there are no problems
  std::vector<Problem>
      problems;  ///< in the order of files and lines; at most Problems::kMost and one that counts the rest
  std::vector<Problem> warnings;  ///< nothing wrong, but perhaps not what was meant

  [[nodiscard]] bool ok() const { return problems.empty(); }
};

/// What those who make feeds and channels of the settings say of them, without connecting to anything. Each text begins
/// with the key it is about, as it stands in the section: "kind_words.T: found ..., expected ...", "rules[2].at: ...".
struct Makers {
  using Feed = std::function<std::vector<std::string>(const FeedSettings&)>;
  using Channel = std::function<std::vector<std::string>(const ChannelSettings&)>;
  Feed refuse_feed{}, doubt_feed{};  ///< why it cannot be made; what is perhaps not meant. They may be empty
  Channel refuse_channel{};
};

struct LoadOptions {
  std::vector<std::string> calendars{};  ///< calendars that exist; empty: any name goes
  bool lists = true;  ///< false: the main file alone; watch lists are not looked at, so they need not exist yet
  std::string zones = "/usr/share/zoneinfo";  ///< the machine's time zones, where the tz database looks for them too
  bool files = false;   ///< true: warns of files, folders and secrets that are named and would not serve `brimwatch run`
  std::string rules{};  ///< a file whose [rules] and [market] are laid over those of the main file; empty: none
  std::string journal{};  ///< the journal in use, where the command line named another; the days heard lie beside it
  std::size_t watches_most = 2'000'000;  ///< of the main file and all lists together
  Makers makers{};                       ///< asked about each feed and channel that is switched on
};

/// Never throws. Sizes are limited: 16 MiB for a TOML file, 512 MiB for a CSV list, 1000 lists, 2 million watches.
[[nodiscard]] Loaded load_settings(const std::string& path, const LoadOptions& options = {});

}  // namespace brimwatch
