#include "desk/channel_plans.h"

#include <algorithm>
#include <ctime>

#include "adapters/channels/table.h"
#include "session/zone.h"

namespace brimwatch {
namespace {

Nanos nanos(std::chrono::seconds span) { return span.count() * kSecond; }

std::chrono::seconds system_offset(Timestamp time) {
  const std::time_t seconds = time.ns / kSecond;
  std::tm local{};
  localtime_r(&seconds, &local);
  return std::chrono::seconds(local.tm_gmtoff);
}

}  // namespace

std::function<std::chrono::seconds(Timestamp)> local_offset(const std::string& zone) {
  if (zone.empty()) return system_offset;
  const auto shifts = zone_shifts(zone, 2020, 2060);
  if (!shifts) return system_offset;  // the loader has refused zones that do not exist
  return [shifts = *shifts](Timestamp time) {
    const auto after =
        std::upper_bound(shifts.begin(), shifts.end(), time, [](Timestamp t, const ZoneShift& s) { return t < s.from; });
    return after == shifts.begin() ? shifts.front().offset : std::prev(after)->offset;
  };
}

std::string name_of(const ChannelSettings& channel) { return channel.name.empty() ? channel.kind : channel.name; }

namespace {

/// A mail takes its time for each recipient.
Nanos attempt_most(const ChannelSettings& channel) {
  const auto recipients = static_cast<Nanos>(std::max<std::size_t>(1, channel.kind == "email" ? channel.to.size() : 1));
  return nanos(channel.timeout) * recipients;
}

bool gets_review(const ChannelSettings& channel, const EveningSettings& evening) {
  if (evening.review_at.empty()) return false;
  const auto& names = evening.channels;
  if (names.empty()) return channel.kind == "email";
  return std::find(names.begin(), names.end(), name_of(channel)) != names.end();
}

}  // namespace

std::vector<ChannelPlan> plans_of(const std::vector<ChannelSettings>& channels, const EveningSettings& evening) {
  std::vector<ChannelPlan> plans;
  for (const ChannelSettings& channel : channels) {
    if (!channel.enabled) continue;
    ChannelPlan plan;
    plan.name = name_of(channel);
    plan.kinds = channel.kinds;
    plan.weights = channel.weights;
    plan.quiet_from_minute = channel.quiet.from_minute;
    plan.quiet_to_minute = channel.quiet.to_minute;
    plan.urgent_passes = channel.quiet.urgent_passes;
    plan.local_offset = local_offset(channel.quiet.zone);
    plan.per_minute = channel.per_minute;
    plan.until_acknowledged = channel.until_acknowledged;
    plan.repeat_every = nanos(channel.repeat_every);
    plan.expire_urgent = nanos(channel.expire_urgent);
    plan.hung_after = attempt_most(channel) * 2 + 5 * kSecond;
    plan.review = gets_review(channel, evening);
    if (channel.kind == "desktop")
      plan.retry_most = kMinute;  // asking this machine costs nothing; its user may have come
    plan.id_aware = drops_doubles(channel.kind);
    plans.push_back(std::move(plan));
  }
  return plans;
}

}  // namespace brimwatch
