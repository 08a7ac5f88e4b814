#pragma once
// The tables of keys, one a section. A new key is one row here, one field in settings.h and one line in a sample.
#include <span>
#include <string>
#include <vector>

#include "config/sections/key.h"

namespace brimwatch {

/// A watch while it is read: what the list says before pivot and levels are worked out.
struct WatchDraft : Watch {
  std::optional<Price> given_pivot, peak;
};

/// The keys of the main file's top level that hold a value themselves.
struct TopLevel {
  std::vector<std::string> watch_lists;
  std::string journal;
};

[[nodiscard]] std::span<const Key<TopLevel>> top_level_keys();
[[nodiscard]] std::span<const Key<SessionSettings>> session_keys();
[[nodiscard]] std::span<const Key<Rules>> rules_keys();
[[nodiscard]] std::span<const Key<MarketSettings>> market_keys();
[[nodiscard]] std::span<const Key<HistorySettings>> history_keys();
[[nodiscard]] std::span<const Key<RecordSettings>> record_keys();
[[nodiscard]] std::span<const Key<KeepSettings>> keep_keys();
[[nodiscard]] std::span<const Key<PageSettings>> page_keys();
[[nodiscard]] std::span<const Key<LifeSettings>> life_keys();
[[nodiscard]] std::span<const Key<EveningSettings>> evening_keys();
[[nodiscard]] std::span<const Key<SharedSettings>> shared_keys();
[[nodiscard]] std::span<const Key<RuleBook>> prepare_keys();
[[nodiscard]] std::span<const Key<Settings>> log_keys();
[[nodiscard]] std::span<const Key<FeedSettings>> feed_keys();
[[nodiscard]] std::span<const Key<ChannelSettings>> channel_keys();
/// What only a watch has; it takes the rules' keys as well.
[[nodiscard]] std::span<const Key<WatchDraft>> watch_keys();

constexpr std::int64_t kFeedsMost = 32;
constexpr std::int64_t kChannelsMost = 64;
constexpr std::int64_t kWatchesMost = 2'000'000;

struct SectionInfo {
  std::string name;     ///< key at the top level; empty for the top level itself
  std::string heading;  ///< as one writes it: "[rules]", "[[watch]]"
  bool many = false;    ///< a list of tables is allowed
  std::int64_t most = 1;
  std::string what;
  std::vector<KeyInfo> keys;
};

/// All of them, the top level first. Made once.
[[nodiscard]] const std::vector<SectionInfo>& all_sections();

}  // namespace brimwatch
