#pragma once
// The stage of the daemon's life. Whatever a thread or a timer hands in later is checked against it: nothing begins
// once it is stopping. Pure.
#include <cstdint>

namespace brimwatch {

enum class Stage : std::uint8_t {
  starting,         ///< the journal is being read; no feed gives yet
  without_journal,  ///< it runs, and does not know what was before
  running,
  stopping,  ///< feeds are stopped, what is in hand ends
  ended,     ///< nobody listens any more
};

class LifeStage {
 public:
  [[nodiscard]] Stage now() const { return now_; }
  /// False, and nothing has changed, where that does not follow on this.
  bool go_to(Stage next) {
    if (!may_go_to(next)) return false;
    now_ = next;
    return true;
  }
  [[nodiscard]] bool may_go_to(Stage next) const {
    switch (next) {
      case Stage::starting:
        return false;
      case Stage::without_journal:
        return now_ == Stage::starting;
      case Stage::running:
        return now_ == Stage::starting || now_ == Stage::without_journal;
      case Stage::stopping:
        return now_ < Stage::stopping;
      case Stage::ended:
        return now_ == Stage::stopping;
    }
    return false;
  }
  [[nodiscard]] bool is_up() const { return now_ == Stage::without_journal || now_ == Stage::running; }
  [[nodiscard]] bool listens() const { return now_ != Stage::ended; }

 private:
  Stage now_ = Stage::starting;
};

}  // namespace brimwatch
