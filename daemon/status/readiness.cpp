#include "status/readiness.h"

#include <algorithm>

namespace brimwatch {

bool is_blind(const Snapshot& now) {
  return now.session == "open" &&
         std::none_of(now.feeds.begin(), now.feeds.end(), [](const FeedRow& feed) { return feed.carrying; });
}

std::uint64_t watches_in_force(const Snapshot& now) {
  return static_cast<std::uint64_t>(
      std::count_if(now.watches.begin(), now.watches.end(), [](const WatchRow& row) { return row.in_force; }));
}

std::vector<std::string> what_is_amiss(const Snapshot& now) {
  std::vector<std::string> out;
  if (now.watches.empty()) out.emplace_back("the watch lists are empty");
  else if (watches_in_force(now) == 0) out.emplace_back("no watch is in force today");
  const bool stands_by = now.shared.on && now.shared.speaker != now.shared.name;
  if (now.feeds.empty() && !stands_by) out.emplace_back("no feed is in force");
  else if (is_blind(now)) out.emplace_back("the exchange is open and no feed gives");
  if (!now.journal_trouble.empty()) out.push_back("the journal cannot be used: " + now.journal_trouble);
  const bool is_cut_off = !now.channels.empty() && std::all_of(now.channels.begin(), now.channels.end(),
                                                               [](const ChannelRow& row) { return row.in_trouble; });
  if (is_cut_off) out.emplace_back("no channel gets through");
  return out;
}

std::string readiness_text(const Snapshot& now) {
  const std::vector<std::string> amiss = what_is_amiss(now);
  std::string out = amiss.empty() ? "ready\n" : "not ready\n";
  for (const std::string& one : amiss) out += one + "\n";
  return out;
}

}  // namespace brimwatch
