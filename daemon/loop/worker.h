#pragma once
// A worker does what may block (a name server, another program's lock on the journal, a disk) off the loop: one
// thread, one job at a time, a short queue, and a deadline after which the caller gets `late` and goes on. A job that
// never ends is abandoned at the end of the program.
//
// All of it is called on the loop's thread, but for the jobs themselves. A job must not refer to what may be gone when it
// has been left behind.
#include <chrono>
#include <cstddef>
#include <functional>
#include <memory>

namespace boost::asio {
class io_context;
}

namespace brimwatch {

class Worker {
 public:
  using Answer = std::function<void()>;  ///< called on the loop's thread; may be empty
  using Job = std::function<Answer()>;   ///< called on the worker's

  struct Limits {
    std::chrono::milliseconds deadline{10'000};  ///< from start() to the answer
    std::size_t waiting_most = 16;               ///< jobs; more are refused
  };

  explicit Worker(boost::asio::io_context& loop) : Worker(loop, Limits{}) {}
  Worker(boost::asio::io_context& loop, Limits limits);
  /// As stop() with no time at all.
  ~Worker();
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;

  /// The job's answer, or `late` when there is none by the deadline: one of the two, once. A job that has not been begun
  /// by then never is. False: too many wait, and neither will be called.
  [[nodiscard]] bool start(Job job, Answer late = {});
  [[nodiscard]] bool is_busy() const;  ///< a job is in hand, late or not
  /// No more answers. Lets the job in hand end, for so long at most; false: it is left behind.
  bool stop(std::chrono::milliseconds most);

 private:
  struct Shared;
  struct Desk;
  std::shared_ptr<Shared> shared_;
  std::shared_ptr<Desk> desk_;
};

}  // namespace brimwatch
