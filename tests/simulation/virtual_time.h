#pragma once
// Time that passes only when something happens in it: one queue of events, ties in the order in which they were set. The
// steady clock is the truth; the computer's wall clock stands beside it and can be set wrong.
#include <cstdint>
#include <functional>
#include <queue>
#include <vector>

#include "core/text/timestamp.h"

namespace brimwatch::simulation {

constexpr Nanos kMilli = 1'000'000;

class VirtualTime {
 public:
  explicit VirtualTime(Timestamp begin) : begin_(begin) {}

  [[nodiscard]] Nanos steady() const { return now_; }
  /// The true time, which the exchange keeps.
  [[nodiscard]] Timestamp truth() const { return begin_ + now_; }
  /// What the computer's clock shows.
  [[nodiscard]] Timestamp wall() const { return truth() + wrong_by_; }
  void set_wrong_by(Nanos span) { wrong_by_ = span; }
  [[nodiscard]] Nanos wrong_by() const { return wrong_by_; }

  void after(Nanos span, std::function<void()> what) {
    queue_.push({now_ + (span > 0 ? span : 0), number_++, std::move(what)});
  }
  void at(Timestamp when, std::function<void()> what) { after(when - truth(), std::move(what)); }

  /// Runs what is due up to then, and stands there. May be called from within an event.
  void run_until(Timestamp when) {
    const Nanos end = when - begin_;
    while (!queue_.empty() && queue_.top().at <= end) {
      // The queue's top is const; the function is moved out, its place in the order stays.
      Event& top = const_cast<Event&>(queue_.top());  // NOLINT(cppcoreguidelines-pro-type-const-cast)
      now_ = top.at;
      const std::function<void()> what = std::move(top.what);
      queue_.pop();
      ++events_;
      what();
    }
    if (end > now_) now_ = end;
  }

  [[nodiscard]] std::size_t waiting() const { return queue_.size(); }
  [[nodiscard]] std::uint64_t events() const { return events_; }

 private:
  struct Event {
    Nanos at;
    std::uint64_t number;
    std::function<void()> what;
    bool operator<(const Event& other) const { return at != other.at ? at > other.at : number > other.number; }
  };
  Timestamp begin_;
  Nanos now_ = 0, wrong_by_ = 0;
  std::uint64_t number_ = 0, events_ = 0;
  std::priority_queue<Event> queue_;
};

}  // namespace brimwatch::simulation
