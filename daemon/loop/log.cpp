#include "loop/log.h"

#include <spdlog/async.h>
#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include <algorithm>
#include <cstdlib>

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kQueueLines = 8192;
constexpr std::size_t kTroublesMost = 200;
constexpr std::size_t kLineMost = 2000;  // characters

spdlog::level::level_enum level_of(LogLevel level) {
  switch (level) {
    case LogLevel::debug:
      return spdlog::level::debug;
    case LogLevel::info:
      return spdlog::level::info;
    case LogLevel::warning:
      return spdlog::level::warn;
    case LogLevel::error:
      return spdlog::level::err;
  }
  return spdlog::level::info;
}

/// "<6>" and the like: how a line on standard error tells journald its priority (sd-daemon(3)).
class Priority : public spdlog::custom_flag_formatter {
 public:
  void format(const spdlog::details::log_msg& message, const std::tm&, spdlog::memory_buf_t& out) override {
    const char digit = message.level >= spdlog::level::err    ? '3'
                       : message.level == spdlog::level::warn ? '4'
                       : message.level == spdlog::level::info ? '6'
                                                              : '7';
    const char text[] = {'<', digit, '>'};
    out.append(text, text + sizeof text);
  }
  [[nodiscard]] std::unique_ptr<custom_flag_formatter> clone() const override {
    return spdlog::details::make_unique<Priority>();
  }
};

}  // namespace

struct Log::Impl {
  std::shared_ptr<spdlog::details::thread_pool> pool = std::make_shared<spdlog::details::thread_pool>(kQueueLines, 1);
  std::shared_ptr<spdlog::async_logger> logger;
  mutable std::mutex mutex;
  std::map<std::string, Trouble, std::less<>> troubles;
};

Log::Log(std::string_view level) : impl_(std::make_unique<Impl>()) {
  auto sink = std::make_shared<spdlog::sinks::stderr_sink_mt>();
  impl_->logger = std::make_shared<spdlog::async_logger>("brimwatch", sink, impl_->pool,
                                                         spdlog::async_overflow_policy::overrun_oldest);
  auto formatter = std::make_unique<spdlog::pattern_formatter>();
  formatter->add_flag<Priority>('*');
  formatter->set_pattern(std::getenv("JOURNAL_STREAM") != nullptr ? "%*%v" : "%Y-%m-%d %H:%M:%S.%e %-7l %v");
  impl_->logger->set_formatter(std::move(formatter));
  impl_->logger->flush_on(spdlog::level::info);
  set_level(level);
}

Log::~Log() { impl_->logger->flush(); }

void Log::set_level(std::string_view level) {
  impl_->logger->set_level(level == "debug"     ? spdlog::level::debug
                           : level == "warning" ? spdlog::level::warn
                           : level == "error"   ? spdlog::level::err
                                                : spdlog::level::info);
}

void Log::say(LogLevel level, std::string_view text) { impl_->logger->log(level_of(level), clean_line(text, kLineMost)); }

void Log::trouble(LogLevel level, std::string_view text, Timestamp now) {
  std::uint64_t count = 0;
  {
    const std::lock_guard lock(impl_->mutex);
    auto found = impl_->troubles.find(text);
    if (found == impl_->troubles.end()) {
      if (impl_->troubles.size() >= kTroublesMost) {
        const auto oldest = std::min_element(impl_->troubles.begin(), impl_->troubles.end(),
                                             [](const auto& a, const auto& b) { return a.second.last < b.second.last; });
        impl_->troubles.erase(oldest);
      }
      found = impl_->troubles.emplace(std::string(text), Trouble{std::string(text), 0, now, now}).first;
    }
    count = ++found->second.count;
    found->second.last = now;
  }
  std::uint64_t power = 1;
  while (power < count) power *= 10;
  if (power != count) return;
  say(level, count == 1 ? std::string(text) : std::string(text) + " (" + std::to_string(count) + " times by now)");
}

std::vector<Trouble> Log::troubles() const {
  std::vector<Trouble> all;
  {
    const std::lock_guard lock(impl_->mutex);
    for (const auto& [text, trouble] : impl_->troubles) all.push_back(trouble);
  }
  std::sort(all.begin(), all.end(), [](const Trouble& a, const Trouble& b) { return a.last > b.last; });
  return all;
}

std::uint64_t Log::dropped() const { return impl_->pool->overrun_counter(); }

}  // namespace brimwatch

#ifdef __SANITIZE_THREAD__
/// Two libraries that are not built with the thread sanitizer: it does not see what they do to wait for each other (the
/// log's last reference, the time zones' first use).
extern "C" const char* __tsan_default_suppressions();
extern "C" const char* __tsan_default_suppressions() { return "race:libspdlog.so\nrace:libdate-tz.so\n"; }
#endif
