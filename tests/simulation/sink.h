#pragma once
// The other side of a channel, outside the daemon, and the runner that brings messages to it. It refuses, hangs, answers
// late or not at all, takes a message and dies before it says so, and is away for hours.
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "dice.h"
#include "dispatch/runner.h"
#include "virtual_time.h"

namespace brimwatch::simulation {

/// What one channel's other side has had of one notice.
struct Arrivals {
  int times = 0;          ///< messages that carried it, repetitions until acknowledged left out
  int unsure = 0;         ///< attempts whose outcome the daemon cannot know
  int refused = 0;        ///< refusals for good
  int alone = 0;          ///< of those times, how often its text said that another machine may tell it too
  Timestamp first;        ///< true time
  std::size_t order = 0;  ///< among all arrivals at this sink
};

class Sink {
 public:
  Sink(std::string name, VirtualTime& time, std::uint64_t seed, Tally& tally);

  [[nodiscard]] const std::string& name() const { return name_; }
  void set_faults(bool on) { faults_ = on, down_until_ = on ? down_until_ : Timestamp{}; }
  /// Looks at every message before it is tried.
  std::function<void(const Sink&, const Message&)> on_message;
  /// Looks at each notice that comes for the first time.
  std::function<void(const Sink&, const NoticeRecord&)> on_arrival;

  struct Answer {
    Nanos after = 0;
    Delivery delivery;
    bool arrives = false;
    bool never = false;  ///< the attempt does not come back at all
  };
  [[nodiscard]] Answer answer(const Message& message);
  void arrive(const Message& message);
  void note_unsure(const Message& message);

  [[nodiscard]] const std::map<std::string, Arrivals>& arrivals() const { return arrivals_; }
  [[nodiscard]] bool was_away() const { return was_away_; }
  void forget();

 private:
  VirtualTime& time_;
  std::string name_;
  Dice dice_;
  Tally& tally_;
  bool faults_ = false, was_away_ = false;
  Timestamp down_until_, next_down_;
  int down_kind_ = 0;
  std::size_t order_ = 0;
  std::map<std::string, Arrivals> arrivals_;
};

/// The daemon's side: one message at a time. Lives and dies with the daemon.
class SinkRunner final : public MessageRunner {
 public:
  SinkRunner(Sink& sink, VirtualTime& time, Done done) : sink_(sink), time_(time), done_(std::move(done)) {}
  ~SinkRunner() override;
  [[nodiscard]] bool submit(Send send) override;
  bool stop(std::chrono::milliseconds most) override;

 private:
  struct InHand {
    Send send;
    Sink::Answer answer;
  };
  Sink& sink_;
  VirtualTime& time_;
  Done done_;
  std::shared_ptr<InHand> in_hand_;
};

}  // namespace brimwatch::simulation
