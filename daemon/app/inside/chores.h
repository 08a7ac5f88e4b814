#pragma once
// Slow work, off the loop: files on one thread, what a person at the page or the socket waits for on another, so that
// neither waits for the other. A job that hangs is abandoned at the end of the program.
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <string>

#include "app/shared_text.h"
#include "loop/worker.h"

namespace brimwatch {

class Chores {
 public:
  using Refuse = std::function<void(const std::string& why)>;

  explicit Chores(boost::asio::io_context& loop) : files_(loop, kFiles), shown_(loop, kShown) {}

  /// The job's answer on the loop's thread, or `refuse` with the reason why it was not done.
  void start(Worker::Job job, const Refuse& refuse);
  /// For what is shown; where too much waits it is not done, and whoever asked goes by their own time limit.
  [[nodiscard]] RunAside aside();
  /// Waits so long at most for a file that is being written; false: it hangs.
  bool stop(std::chrono::milliseconds most);

  static constexpr auto kDeadline =
      std::chrono::seconds(120);  ///< a million watches are read in a second, a review in a few
  static inline const std::string kLate = "the disk has not answered for two minutes";

 private:
  static constexpr Worker::Limits kFiles{.deadline = kDeadline, .waiting_most = 8};
  /// Of snapshots four at most are asked for at once.
  static constexpr Worker::Limits kShown{.deadline = std::chrono::minutes(10), .waiting_most = 8};
  Worker files_, shown_;
};

}  // namespace brimwatch
