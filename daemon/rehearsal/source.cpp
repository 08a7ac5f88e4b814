#include "rehearsal/source.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace brimwatch {
namespace {

using Kind = Misbehaviour::Kind;

Nanos nanos(double seconds) { return static_cast<Nanos>(std::llround(seconds * 1e9)); }

}  // namespace

RehearsalSource::RehearsalSource(SourceOptions options) : options_(std::move(options)), random_(options_.seed) {}

void RehearsalSource::plan(Timestamp first) {
  first_ = first;
  for (const Misbehaviour& what : options_.misbehaviours) {
    Planned planned{what};
    if (what.timed) planned.from = options_.moment(first, what.second_of_day) - first;
    else if (happens_once(what.kind)) planned.from = kMinute + nanos(uniform() * 3540);
    planned_.push_back(planned);
  }
}

Nanos RehearsalSource::scaled(Nanos at) const {
  return static_cast<Nanos>(std::llround(static_cast<double>(at) / options_.speed));
}

/// Steps keep their order whatever their times: a source sends one thing behind the other.
void RehearsalSource::push(SourceStep step) {
  step.due = last_due_ = std::max(step.due, last_due_);
  steps_.push_back(std::move(step));
}

void RehearsalSource::do_what_happens_once(Nanos at) {
  for (Planned& planned : planned_) {
    // What lies before the tape's first tick never happens, rather than at the start.
    if (planned.done || planned.from < 0 || at < planned.from) continue;
    const Kind kind = planned.what.kind;
    if (kind != Kind::close && kind != Kind::cut && kind != Kind::away) continue;
    planned.done = true;
    SourceStep step;
    step.kind = kind == Kind::close ? SourceStep::Kind::close
                : kind == Kind::cut ? SourceStep::Kind::cut
                                    : SourceStep::Kind::away;
    step.due = scaled(planned.from);
    step.code = kind == Kind::close ? static_cast<int>(planned.what.amount) : 0;
    step.span = kind == Kind::away ? scaled(nanos(planned.what.amount)) : 0;
    push(std::move(step));
  }
}

bool RehearsalSource::is_lost(Nanos at) const {
  return std::any_of(planned_.begin(), planned_.end(), [&](const Planned& planned) {
    return planned.what.kind == Kind::lose && at >= planned.from && at < planned.from + nanos(planned.what.amount);
  });
}

/// Where on the tape a message of `at` is sent, after stalls and delays.
Nanos RehearsalSource::held_until(Nanos at) const {
  Nanos until = at;
  for (const Planned& planned : planned_) {
    if (planned.what.kind == Kind::delay && at >= planned.from) until += nanos(planned.what.amount);
  }
  for (const Planned& planned : planned_) {
    const Nanos end = planned.from + nanos(planned.what.amount);
    if (planned.what.kind == Kind::stall && until >= planned.from && until < end) until = end;
  }
  return until;
}

bool RehearsalSource::chance(Kind kind, Nanos at) {
  bool hit = false;
  for (const Planned& planned : planned_) {
    if (planned.what.kind != kind || (planned.what.timed && at < planned.from)) continue;
    hit = uniform() * 100 < planned.what.amount || hit;
  }
  return hit;
}

void RehearsalSource::add(const Tick& tick) {
  if (tick.kind == TickKind::hole || tick.symbol == kNoSymbol) return;
  if (!first_.is_set()) plan(tick.time);
  const Nanos at = tick.time - first_;
  do_what_happens_once(at);
  SourceStep step;
  step.tick = tick;
  if (tick.symbol >= numbers_.size()) numbers_.resize(tick.symbol + 1);
  step.number = ++numbers_[tick.symbol];
  ++counts_.messages;
  if (is_lost(at) || chance(Kind::drop, at)) {
    ++counts_.dropped;
    return;
  }
  step.due = scaled(held_until(at));
  push_message(std::move(step), at);
}

void RehearsalSource::push_message(SourceStep step, Nanos at) {
  if (chance(Kind::garbage, at)) {
    step.garble = random_() | 1;
    ++counts_.garbled;
  }
  const bool twice = chance(Kind::duplicate, at);
  if (!held_ && chance(Kind::reorder, at)) {
    held_ = std::move(step);
    ++counts_.reordered;
    return;
  }
  if (twice) {
    push(step);
    ++counts_.doubled;
  }
  push(std::move(step));
  if (held_) push(*std::exchange(held_, std::nullopt));
}

void RehearsalSource::end() {
  if (held_) push(*std::exchange(held_, std::nullopt));
  ended_ = true;
}

std::optional<Nanos> RehearsalSource::next_due() const {
  return steps_.empty() ? std::nullopt : std::optional(steps_.front().due);
}

std::optional<SourceStep> RehearsalSource::next(Nanos now) {
  if (steps_.empty() || steps_.front().due > now) return std::nullopt;
  SourceStep step = std::move(steps_.front());
  steps_.pop_front();
  return step;
}

}  // namespace brimwatch
