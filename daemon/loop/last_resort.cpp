#include "loop/last_resort.h"

#include <condition_variable>
#include <cstdlib>
#include <mutex>
#include <system_error>
#include <thread>

namespace brimwatch {

struct LastResort::Shared {
  std::mutex mutex;
  std::condition_variable changed;
  bool over = false;
};

LastResort::LastResort(int status, std::chrono::milliseconds within)
    : status_(status), shared_(std::make_shared<Shared>()) {
  try {
    std::thread([shared = shared_, status, within] {
      std::unique_lock lock(shared->mutex);
      if (!shared->changed.wait_for(lock, within, [&] { return shared->over; })) std::_Exit(status);
    }).detach();
  } catch (const std::system_error&) {
    now();  // without a thread there is nobody to watch over the rest
  }
}

LastResort::~LastResort() {
  const std::lock_guard lock(shared_->mutex);
  shared_->over = true;
  shared_->changed.notify_all();
}

void LastResort::now() const { std::_Exit(status_); }

}  // namespace brimwatch
