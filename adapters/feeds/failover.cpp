#include "adapters/feeds/failover.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr Nanos kHoleLeast = kSecond;

/// Volume and crossings come from these; the rest may come twice without harm.
bool is_counted(const Tick& tick) {
  return tick.kind == TickKind::trade || tick.kind == TickKind::bar || tick.kind == TickKind::cancel ||
         tick.kind == TickKind::correct;
}

}  // namespace

Failover::Failover(std::vector<std::optional<std::size_t>> stands_by_for, Limits limits) : limits_(limits) {
  const std::size_t count = stands_by_for.size();
  feeds_.resize(count);
  marks_.resize(count);
  latest_.resize(count);
  for (std::size_t i = 0; i < count; ++i) {
    group_.push_back(stands_by_for[i].value_or(i));
    feeds_[i].speaker = i;
  }
}

void Failover::take_over(Failover&& old, const std::vector<Origin>& origins) {
  for (std::size_t i = 0; i < origins.size(); ++i) {
    if (!origins[i].same) continue;
    feeds_[i] = old.feeds_[*origins[i].same];
    feeds_[i].speaker = i;  // who speaks is a matter of the group
  }
  for (std::size_t group = 0; group < feeds_.size(); ++group) {
    if (group_[group] == group) take_group(group, old, origins);
  }
  forgotten_ = old.forgotten_;
}

void Failover::take_group(std::size_t group, const Failover& old, const std::vector<Origin>& origins) {
  std::optional<std::size_t> was;
  for (std::size_t i = 0; i < origins.size(); ++i) {
    const auto origin = origins[i].same ? origins[i].same : origins[i].replaced;
    if (group_[i] == group && origin && (!was || i == group)) was = old.group_[*origin];
  }
  if (!was) return;
  marks_[group] = old.marks_[*was];
  latest_[group] = old.latest_[*was];
  for (std::size_t i = 0; i < origins.size(); ++i) {
    if (group_[i] == group && origins[i].same == old.feeds_[*was].speaker) return void(feeds_[group].speaker = i);
  }
  feeds_[group].barrier = marks_[group];
}

void Failover::on_ticks(std::size_t feed, std::span<const Tick> ticks, std::vector<Tick>& out) {
  const std::size_t group = group_[feed];
  const bool speaking = speaks(feed);
  One& one = feeds_[feed];
  for (const Tick& tick : ticks) {
    if (tick.kind == TickKind::hole) {
      // It has seen everything only since the end of its hole.
      one.first_seen = std::max(one.first_seen, tick.received);
    } else if (!one.first_seen.is_set()) {
      one.first_seen = tick.time;
    }
    speaking ? pass(feeds_[group], one, tick, out) : keep(one, tick);
  }
}

void Failover::keep(One& one, const Tick& tick) {
  if (tick.kind == TickKind::hole || tick.kind == TickKind::quote) return;
  one.kept.push_back(tick);
  while (one.kept.size() > limits_.kept_most || tick.received - one.kept.front().received > limits_.kept_for) {
    one.first_seen = std::max(one.first_seen, one.kept.front().time);
    if (one.kept.size() > limits_.kept_most) ++forgotten_;
    one.kept.pop_front();
  }
}

void Failover::pass(One& group, One& one, const Tick& tick, std::vector<Tick>& out) {
  const auto at = static_cast<std::size_t>(&group - feeds_.data());
  if (tick.symbol != kNoSymbol && is_counted(tick)) {
    if (tick.symbol < one.barrier.size() && tick.time <= one.barrier[tick.symbol]) return;
    auto& marks = marks_[at];
    if (tick.symbol >= marks.size()) marks.resize(tick.symbol + 1);
    marks[tick.symbol] = std::max(marks[tick.symbol], tick.time);
    latest_[at] = std::max(latest_[at], tick.time);
  }
  out.push_back(tick);
}

std::vector<Failover::Change> Failover::on_health(const std::vector<bool>& carries, Nanos steady,
                                                  std::vector<Tick>& out) {
  std::vector<Change> changes;
  for (std::size_t i = 0; i < feeds_.size(); ++i) {
    if (carries[i] && !feeds_[i].carried) feeds_[i].carries_since = steady;
    feeds_[i].carried = carries[i];
  }
  for (std::size_t group = 0; group < feeds_.size(); ++group) {
    if (group_[group] != group) continue;
    const std::size_t speaker = feeds_[group].speaker;
    std::size_t wanted = speaker;
    if (!carries[speaker]) {
      for (std::size_t i = feeds_.size(); i-- > 0;) {
        if (group_[i] == group && carries[i]) wanted = i;  // the first in the configuration, the primary before all
      }
      if (carries[group]) wanted = group;
    } else if (speaker != group && carries[group] && steady - feeds_[group].carries_since >= limits_.return_after) {
      wanted = group;
    }
    if (wanted != speaker) changes.push_back(change(group, wanted, out));
  }
  return changes;
}

Failover::Change Failover::change(std::size_t group, std::size_t to, std::vector<Tick>& out) {
  Change change{feeds_[group].speaker, to, std::nullopt};
  One& next = feeds_[to];
  feeds_[group].speaker = to;
  next.barrier = marks_[group];
  const Timestamp seen_to = latest_[group];
  if (seen_to.is_set() && next.first_seen - seen_to >= kHoleLeast) {
    Tick hole;
    hole.kind = TickKind::hole;
    hole.time = seen_to;
    hole.received = next.first_seen;
    hole.feed = static_cast<std::uint8_t>(change.from);  // whose symbols were not heard meanwhile
    out.push_back(hole);
    change.hole = hole;
  }
  std::deque<Tick> kept;
  kept.swap(next.kept);
  for (const Tick& tick : kept) pass(feeds_[group], next, tick, out);
  return change;
}

}  // namespace brimwatch
