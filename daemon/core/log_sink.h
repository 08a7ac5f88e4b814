#pragma once
// Where lines of the log go, and what a line says of itself beside its words, for programs that read along.
#include <functional>
#include <string_view>
#include <type_traits>
#include <utility>

#include "core/log_level.h"

namespace brimwatch {

/// What the line is about; empty: nothing of that kind. In JSON the keys are these names, in journald BRIMWATCH_FEED and
/// the like. Views that last as long as the call.
struct LogFields {
  std::string_view feed{}, channel{};  ///< by the names of the configuration
  std::string_view notice{}, kind{};   ///< id and kind of one that is told
  std::string_view symbol{};
};

/// Takes a line with its fields; made of any callable that takes them, or the words alone.
class LogSink {
 public:
  LogSink() = default;
  template <typename F>
  requires(!std::is_same_v<std::remove_cvref_t<F>, LogSink>)
      LogSink(F sink) {  // NOLINT(google-explicit-constructor): as std::function is made
    if constexpr (std::is_invocable_v<F&, LogLevel, std::string_view, const LogFields&>) {
      sink_ = std::move(sink);
    } else {
      sink_ = [sink = std::move(sink)](LogLevel level, std::string_view text, const LogFields&) mutable {
        sink(level, text);
      };
    }
  }
  void operator()(LogLevel level, std::string_view text, const LogFields& fields = {}) const {
    sink_(level, text, fields);
  }
  explicit operator bool() const { return static_cast<bool>(sink_); }

 private:
  std::function<void(LogLevel, std::string_view, const LogFields&)> sink_;
};

}  // namespace brimwatch
