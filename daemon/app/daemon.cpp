#include "app/daemon.h"

#include <boost/asio/post.hpp>

#include "app/inside/impl.h"
#include "loop/last_resort.h"

namespace brimwatch {
namespace {

constexpr auto kGoneAfter = std::chrono::milliseconds(800);

}  // namespace

Daemon::Daemon(Settings settings, DaemonPlaces places)
    : impl_(std::make_unique<Impl>(std::move(settings), std::move(places))) {}
Daemon::~Daemon() = default;

void Daemon::end(const std::string& why) {
  const std::lock_guard lock(alive_);
  if (impl_ != nullptr) asio::post(impl_->io, [impl = impl_.get(), why] { impl->stop(why); });
}

/// A thread that is left behind, in a disk's or a name server's hands, would be waited for by whatever it shares
/// something with, a library or the end of the process itself.
int Daemon::run() {
  const int status = impl_->run();
  LastResort resort(status, kGoneAfter);
  const bool all_ended = impl_->close();
  {
    const std::lock_guard lock(alive_);
    impl_.reset();
  }
  if (!all_ended) resort.now();
  return status;
}

}  // namespace brimwatch
