#include "adapters/feeds/failover.h"

#include <algorithm>

#include "adapters/feeds/hole_least.h"

namespace brimwatch {
namespace {

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

void Failover::on_ticks(std::size_t feed, std::span<const Tick> ticks, Nanos steady, std::vector<Tick>& out) {
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
    speaking ? pass(feeds_[group], one, tick, out) : keep(one, tick, steady);
  }
}

void Failover::keep(One& one, const Tick& tick, Nanos steady) {
  if (tick.kind == TickKind::hole || tick.kind == TickKind::quote) return;
  one.kept.push_back({tick, steady});
  while (one.kept.size() > limits_.kept_most || steady - one.kept.front().steady > limits_.kept_for) {
    one.first_seen = std::max(one.first_seen, one.kept.front().tick.time);
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

std::vector<Failover::Change> Failover::on_health(const std::vector<Worth>& worths, Nanos steady,
                                                  std::vector<Tick>& out) {
  std::vector<Change> changes;
  for (std::size_t i = 0; i < feeds_.size(); ++i) {
    if (worths[i] != feeds_[i].worth) feeds_[i].worth_since = steady;
    feeds_[i].worth = worths[i];
  }
  for (std::size_t group = 0; group < feeds_.size(); ++group) {
    if (group_[group] != group) continue;
    const One& speaker = feeds_[feeds_[group].speaker];
    const std::size_t wanted = best(group);
    // Away from one that is worth less at once; back to one that is worth as much when it has been so for a while.
    const bool is_better = feeds_[wanted].worth > speaker.worth;
    const bool is_steady = steady - feeds_[wanted].worth_since >= limits_.return_after;
    const bool goes_back =
        wanted == group && speaker.worth > Worth::nothing && feeds_[wanted].worth == speaker.worth && is_steady;
    if (&feeds_[wanted] != &speaker && (is_better || goes_back)) changes.push_back(change(group, wanted, steady, out));
  }
  return changes;
}

/// Of those that are worth most, the primary, or else the first in the configuration.
std::size_t Failover::best(std::size_t group) const {
  std::size_t best = group;
  for (std::size_t i = 0; i < feeds_.size(); ++i)
    if (group_[i] == group && feeds_[i].worth > feeds_[best].worth) best = i;
  return best;
}

Failover::Change Failover::change(std::size_t group, std::size_t to, Nanos steady, std::vector<Tick>& out) {
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
  std::deque<Kept> kept;
  kept.swap(next.kept);
  for (auto& [tick, since] : kept) {
    if (tick.received.is_set()) tick.received = tick.received + (steady - since);  // it comes as late as it does
    pass(feeds_[group], next, tick, out);
  }
  return change;
}

}  // namespace brimwatch
