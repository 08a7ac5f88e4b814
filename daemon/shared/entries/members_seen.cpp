#include "shared/entries/members_seen.h"

#include <algorithm>
#include <utility>

namespace brimwatch {
namespace {

constexpr Nanos kUnbroken = 10 * kSecond;  ///< between two readings: a member may have come and gone in a longer time
constexpr Nanos kLately = 2 * kSecond;
constexpr Nanos kClocksApart = 2 * kSecond;

}  // namespace

MembersSeen::MembersSeen(std::string own, int reads, Nanos left_after)
    : own_(std::move(own)), reads_(reads), left_after_(left_after) {}

void MembersSeen::note(const std::map<std::string, SharedMember>& members, bool changed, const Reading& reading) {
  if (changed)
    for (const auto& [name, member] : members) look_at_clock(name, member.clock, reading);
  if (read_ == 0 || reading.asked - read_ > kUnbroken) looking_since_ = reading.asked;
  for (const auto& [name, member] : members) forms_[name] = {member.reads, reading.asked};
  std::erase_if(forms_, [&](const auto& one) { return reading.asked - one.second.second > left_after_; });
  read_ = reading.read;
}

/// A record that has come since the last reading was written since then: what its clock showed is about now.
void MembersSeen::look_at_clock(const std::string& name, Timestamp clock, const Reading& reading) {
  const auto [seen, is_new] = clocks_.try_emplace(name, clock);
  const bool fresh = !is_new && seen->second != clock;
  seen->second = clock;
  const bool lately = read_ != 0 && reading.asked - read_ < kLately;
  if (!fresh || !lately || name == own_) return;
  const Nanos slack = reading.read - read_;
  const Nanos off = clock - reading.wall;  // not above 0 with clocks that agree, not under -slack
  if (off > kClocksApart || off < -slack - kClocksApart) clocks_off_[name] = off;
  else clocks_off_.erase(name);
}

int MembersSeen::format() const {
  if (read_ == 0 || read_ - looking_since_ < left_after_) return 1;
  int format = reads_;
  for (const auto& [name, one] : forms_) format = std::min(format, std::max(one.first, 1));
  return format;
}

}  // namespace brimwatch
