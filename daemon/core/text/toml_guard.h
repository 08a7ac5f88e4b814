#pragma once
// What to refuse before a TOML text reaches toml++ 3.3: three kinds of text that it does not answer with an error. A
// header whose key begins with none of a key's characters ("[=]") fails an assertion and ends the process; a letter such
// as 'ä' outside quotes and comments is undefined behaviour in its table of blanks; a key of very many parts (a.a.a...)
// exhausts the stack when its tables are freed. All are mistakes anyway, or nobody's need. Found by fuzzing.
#include <cstdint>
#include <optional>
#include <string_view>

namespace brimwatch {

struct TomlTrouble {
  std::uint32_t line = 0;    ///< 1-based
  std::uint32_t column = 0;  ///< 1-based, in characters
  std::string_view text;     ///< what is wrong; lives for ever
};

/// The first such place; empty when the text may be parsed (and may still be no TOML). Pure, linear, never throws.
[[nodiscard]] std::optional<TomlTrouble> toml_trouble(std::string_view text);

}  // namespace brimwatch
