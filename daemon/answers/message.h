#pragma once
// Requests and answers as JSON: what goes over the control socket and what the page sends. The form is described, with a
// JSON Schema, in config/control.schema.json. Pure; any bytes give a value or one line that says what is wrong.
#include <string>
#include <string_view>

#include "answers/request.h"

namespace brimwatch {

/// {"ask":"mute","symbol":"KLVN","for":"hour"}; `ask` is a word of AnswerKind.
[[nodiscard]] Result<AnswerRequest> request_of(std::string_view json);
/// What request_of() reads again.
[[nodiscard]] std::string to_json(const AnswerRequest& request);

/// One row of the journal, one line; `offset` of exchange time from UTC.
[[nodiscard]] std::string to_json(const Answer& answer, std::chrono::seconds offset);
/// {"done":"KLVN 48.35 is muted until 11:32:07","answer":{...}}
[[nodiscard]] std::string done_json(const Answer& answer, const std::string& words, std::chrono::seconds offset);
/// {"error":"..."}
[[nodiscard]] std::string error_json(const std::string& why);

}  // namespace brimwatch
