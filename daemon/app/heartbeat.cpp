#include "app/heartbeat.h"

#include <chrono>

namespace brimwatch {
namespace {

constexpr std::chrono::milliseconds kTimeout{10'000};
constexpr std::size_t kAnswerMost = 64U << 10;

}  // namespace

void Heartbeat::on_beat(const LifeSettings& life, Nanos steady, std::uint64_t progress, bool well) {
  if (life.heartbeat_url.empty() || steady < next_ || !well || progress == seen_) return;
  if (client_.under_way() > 0) return;
  next_ = steady + life.heartbeat_every.count() * kSecond;
  seen_ = progress;
  HttpRequest request;
  request.url = life.heartbeat_url;
  request.proxy = life.heartbeat_proxy;
  request.insecure_loopback = true;
  request.timeout = kTimeout;
  request.body_bytes_most = kAnswerMost;
  client_.start(std::move(request), [this](const HttpAnswer& answer) {
    ++called_;
    is_failing_ = answer.status == 0 || answer.status >= 400;
    if (is_failing_) ++failed_;
    // The address may be a secret of its own: it stays out of the log.
    if (answer.status == 0) log_(LogLevel::warning, "heartbeat: no answer (" + answer.error + ")");
    else if (answer.status >= 400)
      log_(LogLevel::warning, "heartbeat: the other side says " + std::to_string(answer.status));
  });
}

}  // namespace brimwatch
