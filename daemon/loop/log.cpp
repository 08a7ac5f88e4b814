#include "loop/log.h"

#include <spdlog/async.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include <algorithm>

#include "core/text/text.h"
#include "loop/journald.h"
#include "loop/log_line.h"

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

}  // namespace

struct Log::Impl {
  std::shared_ptr<spdlog::details::thread_pool> pool = std::make_shared<spdlog::details::thread_pool>(kQueueLines, 1);
  std::shared_ptr<LogLineSink> sink = std::make_shared<LogLineSink>();
  std::shared_ptr<spdlog::async_logger> logger;
  mutable std::mutex mutex;
  std::map<std::string, Trouble, std::less<>> troubles;
};

Log::Log(std::string_view level, std::string_view format) : impl_(std::make_unique<Impl>()) {
  impl_->logger = std::make_shared<spdlog::async_logger>("brimwatch", impl_->sink, impl_->pool,
                                                         spdlog::async_overflow_policy::overrun_oldest);
  impl_->logger->flush_on(spdlog::level::info);
  set_format(format);
  set_level(level);
}

Log::~Log() { impl_->logger->flush(); }

void Log::set_level(std::string_view level) {
  impl_->logger->set_level(level == "debug"     ? spdlog::level::debug
                           : level == "warning" ? spdlog::level::warn
                           : level == "error"   ? spdlog::level::err
                                                : spdlog::level::info);
}

/// Anything may be asked of a person's own terminal; where journald reads along, JSON is asked for in so many words.
void Log::set_format(std::string_view format) {
  const bool to_journald = is_journald(2);
  impl_->sink->use(format == "json"   ? (to_journald ? LineForm::json_for_journald : LineForm::json)
                   : !to_journald     ? LineForm::text
                   : journald_hears() ? LineForm::fields
                                      : LineForm::text_for_journald);
}

void Log::say(LogLevel level, std::string_view text, const LogFields& fields) {
  impl_->logger->log(level_of(level), packed(clean_line(text, kLineMost), fields));
}

void Log::trouble(LogLevel level, std::string_view text, Timestamp now, const LogFields& fields) {
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
  say(level, count == 1 ? std::string(text) : std::string(text) + " (" + std::to_string(count) + " times by now)",
      fields);
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
