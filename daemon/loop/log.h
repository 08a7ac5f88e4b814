#pragma once
// The log of the running daemon (spdlog): on standard error, as lines for people, each with its time and zone, or as one
// JSON object a line; where standard error is journald's, to journald itself, with the fields of a line as fields there
// (BRIMWATCH_FEED ...). Never the durable record: when lines come faster than they can be written, the oldest are dropped
// and counted. Each distinct trouble is written once and then only counted, with its first and last time, until it is
// asked for.
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

#include "core/log_sink.h"
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
  /// `level`: debug, info, warning or error: what is below it is left out. `format`: text or json.
  explicit Log(std::string_view level, std::string_view format = "text");
  ~Log();
  Log(const Log&) = delete;
  Log& operator=(const Log&) = delete;

  void say(LogLevel level, std::string_view text, const LogFields& fields = {});
  /// An error or warning that may come again and again: written the first time, and then at every tenfold count.
  void trouble(LogLevel level, std::string_view text, Timestamp now, const LogFields& fields = {});
  [[nodiscard]] std::vector<Trouble> troubles() const;  ///< newest first, at most 200 kept
  void set_level(std::string_view level);
  void set_format(std::string_view format);
  [[nodiscard]] std::uint64_t dropped() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
