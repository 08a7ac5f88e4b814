#include "loop/log_line.h"

#include <spdlog/pattern_formatter.h>

#include <array>
#include <cstdio>
#include <utility>

#include "core/text/json.h"
#include "core/text/timestamp.h"
#include "loop/journald.h"

namespace brimwatch {
namespace {

constexpr char kBetween = '\x1f';  ///< ASCII's unit separator; no line holds it

struct FieldName {
  std::string_view LogFields::*member;
  std::string_view json, journald;
};
constexpr std::array<FieldName, 5> kFields{{{&LogFields::feed, "feed", "BRIMWATCH_FEED"},
                                            {&LogFields::channel, "channel", "BRIMWATCH_CHANNEL"},
                                            {&LogFields::notice, "notice", "BRIMWATCH_NOTICE"},
                                            {&LogFields::kind, "kind", "BRIMWATCH_KIND"},
                                            {&LogFields::symbol, "symbol", "BRIMWATCH_SYMBOL"}}};

struct Unpacked {
  std::string_view text;
  LogFields fields;
};

std::string_view take_until(std::string_view& rest) {
  const std::string_view part = rest.substr(0, rest.find(kBetween));
  rest.remove_prefix(std::min(rest.size(), part.size() + 1));
  return part;
}

Unpacked unpacked(std::string_view packed) {
  Unpacked out;
  out.text = take_until(packed);
  for (const FieldName& field : kFields) out.fields.*field.member = take_until(packed);
  return out;
}

std::string_view word(spdlog::level::level_enum level) {
  return level >= spdlog::level::err    ? "error"
         : level == spdlog::level::warn ? "warning"
         : level == spdlog::level::info ? "info"
                                        : "debug";
}

/// As in syslog(3).
int priority(spdlog::level::level_enum level) {
  return level >= spdlog::level::err ? 3 : level == spdlog::level::warn ? 4 : level == spdlog::level::info ? 6 : 7;
}

std::string prefix(spdlog::level::level_enum level) { return "<" + std::to_string(priority(level)) + ">"; }

std::string as_json(const spdlog::details::log_msg& message, const Unpacked& line) {
  const auto since = std::chrono::duration_cast<std::chrono::nanoseconds>(message.time.time_since_epoch());
  OrderedJson out{{"time", to_rfc3339(Timestamp{since.count()}, std::chrono::seconds{0})},
                  {"level", word(message.level)},
                  {"message", line.text}};
  for (const FieldName& field : kFields)
    if (const std::string_view value = line.fields.*field.member; !value.empty()) out[std::string(field.json)] = value;
  return json_line(out);
}

std::string text_line(const spdlog::details::log_msg& message, std::string_view text) {
  static spdlog::pattern_formatter formatter("%Y-%m-%d %H:%M:%S.%e %z %-7l %v");
  spdlog::details::log_msg words = message;
  words.payload = spdlog::string_view_t(text.data(), text.size());
  spdlog::memory_buf_t out;
  formatter.format(words, out);
  return {out.data(), out.size()};
}

}  // namespace

std::string packed(std::string_view text, const LogFields& fields) {
  std::string out(text);
  for (const FieldName& field : kFields) (out += kBetween) += fields.*field.member;
  out.erase(out.find_last_not_of(kBetween) + 1);
  return out;
}

std::string written_line(LineForm form, const spdlog::details::log_msg& message) {
  const Unpacked line = unpacked({message.payload.data(), message.payload.size()});
  switch (form) {
    case LineForm::text:
      return text_line(message, line.text);
    case LineForm::json:
      return as_json(message, line);
    case LineForm::json_for_journald:
      return prefix(message.level) + as_json(message, line);
    case LineForm::text_for_journald:
    case LineForm::fields:
      break;
  }
  return prefix(message.level) + std::string(line.text) + "\n";
}

void LogLineSink::sink_it_(const spdlog::details::log_msg& message) {
  const LineForm form = form_;
  if (form == LineForm::fields) {
    const Unpacked line = unpacked({message.payload.data(), message.payload.size()});
    JournaldFields fields;
    for (const FieldName& field : kFields) {
      const std::string_view value = line.fields.*field.member;
      if (!value.empty()) fields.emplace_back(field.journald, value);
    }
    if (tell_journald(priority(message.level), line.text, fields)) return;
  }
  const std::string out = written_line(form, message);
  (void)std::fwrite(out.data(), 1, out.size(), stderr);
}

void LogLineSink::flush_() { (void)std::fflush(stderr); }

}  // namespace brimwatch
