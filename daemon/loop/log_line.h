#pragma once
// A line of the log on its way through spdlog's queue, which carries one text: words and fields packed into it, and
// unpacked where they are written.
#include <spdlog/sinks/base_sink.h>

#include <atomic>
#include <cstdint>
#include <mutex>
#include <string>
#include <string_view>

#include "core/log_sink.h"

namespace brimwatch {

enum class LineForm : std::uint8_t {
  text,               ///< time with zone, level, words
  text_for_journald,  ///< "<6>" and the like (sd-daemon(3)) before the words; journald knows the time
  json,               ///< one object a line: time (RFC 3339, UTC), level, message, and the fields that the line has
  json_for_journald,  ///< the same after "<6>"
  fields,             ///< to journald's socket, as fields
};

/// `text` is one line without control characters.
[[nodiscard]] std::string packed(std::string_view text, const LogFields& fields);

/// As it is written for that form, with its line end. Of `fields`: as text_for_journald, for when journald takes none.
[[nodiscard]] std::string written_line(LineForm form, const spdlog::details::log_msg& message);

/// Writes on standard error, or to journald.
class LogLineSink : public spdlog::sinks::base_sink<std::mutex> {
 public:
  void use(LineForm form) { form_ = form; }

 protected:
  void sink_it_(const spdlog::details::log_msg& message) override;
  void flush_() override;

 private:
  std::atomic<LineForm> form_ = LineForm::text;
};

}  // namespace brimwatch
