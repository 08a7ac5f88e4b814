#pragma once
// A text that takes long to make and that many ask for: made at most so often, on a thread of its own, and shared by all.
// Only what it is made of is gathered on the loop, so a thousand who ask cost the notices as much as one.
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/text/timestamp.h"

namespace brimwatch {

/// Work on another thread. `then` comes back on the loop's.
using RunAside = std::function<void(std::function<void()> work, std::function<void()> then)>;

/// All on the loop's thread.
class SharedText {
 public:
  using Text = std::shared_ptr<const std::string>;
  using Taker = std::function<void(const Text&)>;
  /// Gathers, on the loop, and gives what makes the text of it, on the other thread.
  using Gather = std::function<std::function<std::string()>()>;

  struct Pace {
    Nanos keep = kSecond;  ///< how long a text is given out after it was gathered
    /// Not 0: kept only so many times as long as it took to make, when that is shorter: what costs little is always new.
    int of_cost = 0;
  };

  SharedText(Gather gather, RunAside aside, std::function<Nanos()> steady, Pace pace)
      : body_(std::make_shared<Body>(Body{std::move(gather), std::move(aside), std::move(steady), pace, {}, {}, 0, 0})) {}

  /// `taker` is called once: now when there is a text that is new enough, else when it is made. All who ask meanwhile get
  /// the same.
  void get(Taker taker) const { get(body_, std::move(taker)); }
  /// Marks the present text as old.
  void forget() const { body_->text = nullptr; }

 private:
  struct Body {
    Gather gather;
    RunAside aside;
    std::function<Nanos()> steady;
    Pace pace;
    std::vector<Taker> waiting;
    Text text;
    Nanos gathered, until;
  };

  static void get(const std::shared_ptr<Body>& body, Taker taker);
  static void take(const std::shared_ptr<Body>& body, Text text);

  std::shared_ptr<Body> body_;  ///< what is under way keeps it
};

}  // namespace brimwatch
