#pragma once
// Which of several feeds is listened to. A primary and its stand-bys carry the same trades; the engine must see each of
// them once, or it would count volume and tell crossings twice. So one of them speaks at a time, and a change is made at
// a mark in exchange time: per symbol, what the old one had already given is not taken from the new one. What a silent
// one's stand-by said in the meantime is kept for a while, so that a change leaves no hole. Pure.
//
// Two sources stamp the same trade with times that may differ by milliseconds: around a change of feeds a trade can be
// missed or doubled within that span.
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/tick.h"

namespace brimwatch {

class Failover {
 public:
  struct Limits {
    std::size_t kept_most = 200'000;    ///< ticks of one feed that waits
    Nanos kept_for = 660 * kSecond;     ///< longer than a silence takes to be told
    Nanos return_after = 60 * kSecond;  ///< a primary must be worth it so long before it is listened to again
  };

  /// One a feed: the index of the primary it stands by for, or nothing.
  Failover(std::vector<std::optional<std::size_t>> stands_by_for, Limits limits);
  explicit Failover(std::vector<std::optional<std::size_t>> stands_by_for)
      : Failover(std::move(stands_by_for), Limits{}) {}

  /// A feed of a list that has changed: which number it had in the old one.
  struct Origin {
    std::optional<std::size_t> same;      ///< it is the same one, and goes on
    std::optional<std::size_t> replaced;  ///< it is a new one in the place of that
  };
  /// One a feed. Who speaks goes on to; where that one is gone, nothing that it gave is taken from another again.
  void take_over(Failover&& old, const std::vector<Origin>& origins);

  /// Ticks of one feed; those that are to go on are appended to `out`.
  void on_ticks(std::size_t feed, std::span<const Tick> ticks, Nanos steady, std::vector<Tick>& out);

  struct Change {
    std::size_t from, to;
    std::optional<Tick> hole;  ///< in `out` already: what neither of them saw
  };
  /// What a feed is worth just now. One that is late gives way to one that carries and is not.
  enum class Worth : std::uint8_t { nothing, late, carries };
  /// After each change of health and once a second. One a feed.
  [[nodiscard]] std::vector<Change> on_health(const std::vector<Worth>& worths, Nanos steady, std::vector<Tick>& out);

  [[nodiscard]] bool speaks(std::size_t feed) const { return speaker(feed) == feed; }
  [[nodiscard]] std::size_t speaker(std::size_t feed) const { return feeds_[group_[feed]].speaker; }  ///< in its group
  [[nodiscard]] const std::vector<std::size_t>& groups() const { return group_; }  ///< by feed: its primary
  [[nodiscard]] std::uint64_t forgotten() const { return forgotten_; }  ///< ticks of waiting feeds beyond the bounds

 private:
  struct Kept {
    Tick tick;
    Nanos steady = 0;  ///< when it came
  };
  struct One {
    std::size_t speaker = 0;  ///< of a group's first feed: who speaks in the group
    Worth worth = Worth::nothing;
    Nanos worth_since = 0;
    Timestamp first_seen;  ///< exchange time from which on it has seen everything
    std::deque<Kept> kept;
    std::vector<Timestamp> barrier;  ///< by symbol: up to here another feed has spoken
  };

  void take_group(std::size_t group, const Failover& old, const std::vector<Origin>& origins);
  void keep(One& one, const Tick& tick, Nanos steady);
  void pass(One& group, One& one, const Tick& tick, std::vector<Tick>& out);
  [[nodiscard]] std::size_t best(std::size_t group) const;
  Change change(std::size_t group, std::size_t to, Nanos steady, std::vector<Tick>& out);

  std::vector<std::size_t> group_;  ///< by feed: its primary
  std::vector<One> feeds_;
  std::vector<std::vector<Timestamp>> marks_;  ///< by group and symbol: latest exchange time that went on
  std::vector<Timestamp> latest_;              ///< by group
  Limits limits_;
  std::uint64_t forgotten_ = 0;
};

}  // namespace brimwatch
