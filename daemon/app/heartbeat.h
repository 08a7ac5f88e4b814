#pragma once
// The heartbeat: an address called at an interval for as long as all is well, so that a watcher elsewhere notices when it
// stops. The call carries nothing but itself: a GET with no header of ours and no body. On the loop's thread.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string_view>

#include "adapters/net/http.h"
#include "config/settings.h"
#include "core/log_sink.h"
#include "core/text/timestamp.h"

namespace brimwatch {

class Heartbeat {
 public:
  Heartbeat(boost::asio::io_context& io, LogSink log) : client_(io), log_(std::move(log)) {}

  /// At every beat. `progress` is the engine's own count of what it has done: a loop that turns and does nothing does not
  /// make it grow, and then nobody is called.
  void on_beat(const LifeSettings& life, Nanos steady, std::uint64_t progress, bool well);
  [[nodiscard]] std::uint64_t called() const { return called_; }  ///< and answered or given up
  [[nodiscard]] std::uint64_t failed() const { return failed_; }  ///< of those, without an answer or with a refusal
  [[nodiscard]] bool is_failing() const { return is_failing_; }   ///< the last one failed

 private:
  HttpClient client_;
  LogSink log_;
  Nanos next_ = 0;
  std::uint64_t seen_ = 0;
  std::uint64_t called_ = 0, failed_ = 0;
  bool is_failing_ = false;
};

}  // namespace brimwatch
