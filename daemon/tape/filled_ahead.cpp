#include "tape/filled_ahead.h"

#include <algorithm>

namespace brimwatch {

Helper::~Helper() {
  {
    const std::lock_guard lock(mutex_);
    stop_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

void Helper::work() {
  std::unique_lock lock(mutex_);
  while (!stop_) {
    const auto ring = std::find_if(rings_.begin(), rings_.end(),
                                   [](const AheadRing* one) { return !one->busy_ && !one->resting_ && !one->ended_; });
    if (ring == rings_.end()) changed_.wait(lock);
    else (*ring)->fill(lock);
  }
}

AheadRing::AheadRing(std::shared_ptr<Helper> helper, std::size_t slots, std::function<bool(std::size_t)> fill)
    : helper_(std::move(helper)), slots_(slots), fill_(std::move(fill)) {
  const std::lock_guard lock(helper_->mutex_);
  helper_->rings_.push_back(this);
  helper_->changed_.notify_all();
}

AheadRing::~AheadRing() {
  std::unique_lock lock(helper_->mutex_);
  std::erase(helper_->rings_, this);
  helper_->changed_.wait(lock, [this] { return !busy_; });
}

/// There is room, and nobody is at it.
void AheadRing::fill(std::unique_lock<std::mutex>& lock) noexcept {
  busy_ = true;
  const std::size_t slot = filled_ % slots_;
  lock.unlock();
  const bool more = fill_(slot);
  lock.lock();
  busy_ = false;
  ended_ = !more;
  resting_ = ++filled_ - taken_ == slots_;
  helper_->changed_.notify_all();
}

std::size_t AheadRing::next() {
  std::unique_lock lock(helper_->mutex_);
  const bool at_last = ended_ && taken_ + 1 == filled_;
  if (holding_ && !at_last && filled_ - ++taken_ <= slots_ / 2 && std::exchange(resting_, false))
    helper_->changed_.notify_all();
  while (filled_ == taken_) {
    if (busy_) helper_->changed_.wait(lock);
    else fill(lock);
  }
  holding_ = true;
  return taken_ % slots_;
}

}  // namespace brimwatch
