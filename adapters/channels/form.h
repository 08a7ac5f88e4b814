#pragma once
// A message in a form that its user has written: a text with names in braces, "{title}: {text}", that are filled in.
// Pure.
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/channel.h"
#include "core/result.h"

namespace brimwatch {

/// By name: title, text, id, symbol, kind, price, pivot, range_top, time, note, urgent, channel, picture (base64),
/// secret.
using FormValues = std::map<std::string, std::string, std::less<>>;

/// Of a digest, symbol and the like are those of its first notice; what is not known is empty.
[[nodiscard]] FormValues form_values(const Message& message, std::string_view channel);

/// How a value is written, so that it stays one whatever it holds.
enum class Written : std::uint8_t {
  plain,   ///< as it is
  json,    ///< within quotes as a JSON string's inside; elsewhere as a whole value, null where it is not known
  url,     ///< percent-encoded (RFC 3986, unreserved characters stay)
  header,  ///< one line of visible characters
  topic,   ///< one level of an MQTT topic: no / + #
};

[[nodiscard]] std::string filled(std::string_view form, const FormValues& values, Written how);

/// Whether the form is JSON whatever is filled in (RFC 8259).
[[nodiscard]] bool is_json_form(std::string_view form);

/// What is wrong with the form: "body: found {titel}, expected one of {title}, ...". `secret_too`: {secret} is allowed.
[[nodiscard]] Status check_form_names(std::string_view key, std::string_view form, bool secret_too);

}  // namespace brimwatch
