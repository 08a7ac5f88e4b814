#pragma once
// Checks between the keys of one section. Every error is reported.
#include <array>

#include "config/sections/sections.h"

namespace brimwatch {

/// odds_light under odds_heavy, the loss limit not above the slip level; told only where one of the keys is said, so that
/// rules that are taken over are not told again.
bool check_rules(const Rules& rules, const Seen& seen, const Place& table, Reading& reading);

/// Needed and allowed keys of the feed's kind; fills the field map of a pipe that gives none.
bool check_feed(FeedSettings& feed, const Seen& seen, const Place& table, Reading& reading);

/// Feeds that would count one tape's trades twice; each is a warning.
void check_feeds_together(const Value& main, const std::vector<FeedSettings>& feeds, Problems& warnings);

/// Needed and allowed keys of the channel's kind; fills its name, and the addresses of a mail that is only written.
bool check_channel(ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading);

/// What `brimwatch run` will miss of that which the main file names: folders, files, secrets, a feed. Each is a warning.
void check_files(const Value& main, const Reading& reading, Problems& warnings);

/// A main file that names a command, and that others than its owner may write to: everybody is an error, its group a
/// warning.
void check_writers(const Settings& settings, Problems& errors, Problems& warnings);

/// The address called as a sign of life.
bool check_heartbeat(const LifeSettings& life, const Seen& seen, Reading& reading);

/// The page beyond this machine: listen, address and what proves it belong together; in the clear only on this machine.
bool check_page(const PageSettings& page, const Seen& seen, Reading& reading);

/// Names, addresses, and keys that belong together.
bool check_shared(const SharedSettings& shared, const Seen& seen, const Place& table, Reading& reading);
/// What is wrong with the number of etcd members; empty: nothing.
[[nodiscard]] std::string doubt_about_majority(const SharedSettings& shared);
/// What is wrong with a member that the others cannot ask; empty: nothing.
[[nodiscard]] std::string doubt_about_direct(const SharedSettings& shared);

/// Pivot from peak, order of the dates; fills the levels.
bool check_watch(WatchDraft& watch, const Seen& seen, bool own_rules, const Place& table, Reading& reading);

/// Keys that only other kinds have.
bool check_only_for(const std::vector<KeyInfo>& keys, std::string_view kind, const Seen& seen, Reading& reading);

/// A key that has to be there.
bool check_needed(std::string_view key, std::string_view such, const Seen& seen, const Place& table, Reading& reading);

inline constexpr std::array<std::string_view, 2> kWebSchemes{"https", "http"};
struct AddressRules {
  std::span<const std::string_view> schemes;
  std::string_view clear;  ///< the scheme that needs insecure_loopback
  bool insecure_loopback = false;
};
bool check_address(const std::string& url, const AddressRules& rules, const Place& place, Reading& reading);

}  // namespace brimwatch
