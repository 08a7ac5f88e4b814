#pragma once
// What the other side says when it refuses: one short line out of its answer, for a log or a person.
#include <string>
#include <string_view>

namespace brimwatch {

/// Of JSON its message (also RFC 9457's `title` and `detail`), of a page its title or its words, else the first line;
/// empty where the body says nothing. On one line and short. Of addresses within only the host is left, and long codes
/// and values such as "apikey=..." are blotted out. A secret that is known is the caller's to take out, before this cuts
/// it.
[[nodiscard]] std::string told_reason(std::string_view body);

/// What is wrong by the words of a JSON answer that is no refusal by its status: of a field "error" and the like, or,
/// with `any_word`, also of "message" and the like. Empty where there is none, and of what is no JSON object.
[[nodiscard]] std::string told_error(std::string_view body, bool any_word);

/// `: "key expired"`, to stand behind "the source answered HTTP 401"; empty where the body says nothing.
[[nodiscard]] std::string quoted_reason(std::string_view body);

}  // namespace brimwatch
