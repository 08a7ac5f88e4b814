#pragma once
// The shared log on etcd, through its HTTP/JSON gateway by libcurl: no other library. Two threads, so that a slow commit
// never holds up a lease's renewal; each keeps its connection, and goes to the next address when one does not answer.
#include <functional>
#include <memory>

#include "adapters/shared_log.h"
#include "config/secret.h"
#include "config/settings.h"

namespace brimwatch {

struct EtcdWorld {
  std::function<void(std::function<void()>)> post;  ///< later, on the caller's thread; called from any
  std::function<Result<Secret>(const SecretSource&)> secret;
};

class EtcdLog final : public SharedLog {
 public:
  EtcdLog(const SharedSettings& settings, EtcdWorld world);
  /// What is still asked has no answer any more.
  ~EtcdLog() override;
  EtcdLog(const EtcdLog&) = delete;
  EtcdLog& operator=(const EtcdLog&) = delete;

  void ask(LogRequest request, Then then) override;
  /// Lets what is asked end, for so long at most; false: a thread hangs, and is left behind.
  bool stop(std::chrono::milliseconds most);

  static constexpr std::size_t kWaitingMost = 1000;  ///< of each thread; more are unknown at once

 private:
  class Lane;
  std::unique_ptr<Lane> renewals_, rest_;
};

/// One request and its answer, on this thread: for a command.
[[nodiscard]] LogAnswer ask_etcd(const SharedSettings& settings, const EtcdWorld& world, const LogRequest& request);

}  // namespace brimwatch
