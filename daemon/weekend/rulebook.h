#pragma once
// The book of rules as text: read from a file of its own or from the command line, laid over what the configuration's
// [prepare] says, and printed. The numbers themselves: config/prepare_rules.h.
#include <string>
#include <string_view>

#include "config/prepare_rules.h"
#include "core/result.h"

namespace brimwatch {

/// Reads `text` (TOML): keys at its top or in a table [prepare]; keys that are missing stay as `base` has them. `name` is
/// the file's name for messages. Unknown keys, wrong types and numbers out of bounds are errors with file:line:column.
[[nodiscard]] Result<RuleBook> parse_rules(std::string_view text, std::string_view name, const RuleBook& base = {});

/// "rise_least=25" from the command line. The error says what was found and what is allowed.
[[nodiscard]] Status set_rule(RuleBook& book, std::string_view assignment);

/// The whole book as TOML with the meaning of each key, ready to be edited.
[[nodiscard]] std::string to_toml(const RuleBook& book);

}  // namespace brimwatch
