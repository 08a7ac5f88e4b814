#pragma once
// The log of the running daemon, on standard error (spdlog). Under journald with its priority prefixes and without a
// second timestamp. Never the durable record: when lines come faster than they can be written, the oldest are dropped and
// counted. Each distinct trouble is written once and then only counted, with its first and last time, until it is asked
// for.
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "core/log_level.h"
#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

/// One distinct trouble, for the status page and the metrics.
struct Trouble {
  std::string text;
  std::uint64_t count = 0;
  Timestamp first, last;
};

/// Any thread may call it.
class Log {
 public:
  /// `level`: debug, info, warning or error: what is below it is left out.
  explicit Log(std::string_view level);
  ~Log();
  Log(const Log&) = delete;
  Log& operator=(const Log&) = delete;

  void say(LogLevel level, std::string_view text);
  /// An error or warning that may come again and again: written the first time, and then at every tenfold count.
  void trouble(LogLevel level, std::string_view text, Timestamp now);
  [[nodiscard]] std::vector<Trouble> troubles() const;  ///< newest first, at most 200 kept
  void set_level(std::string_view level);
  [[nodiscard]] std::uint64_t dropped() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
