#pragma once
// Texts of the configuration with places to fill: messages to send, addresses, headers. Pure.
//
//   {secret}        the secret
//   {symbols}       the symbols of one batch, with commas between
//   {symbols_json}  the same as a JSON array of strings
//   {symbol}        one symbol, for sources that take one at a time: such a text is sent once a symbol (batch_for)
//   {value}         in replies: what the source wants back
//
// Anything else in braces stays as it is: JSON is full of them.
#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

enum class Escape : std::uint8_t {
  none,  ///< headers
  json,  ///< inside the strings of a JSON text
  url,   ///< inside an address
};

/// How the source writes symbols where it is asked for them.
struct SymbolForms {
  std::vector<std::string> forms{"{symbol}"};  ///< each symbol in each of them
  std::map<std::string, std::string> names;    ///< our symbol -> what stands in the place of the forms
};
[[nodiscard]] SymbolForms symbol_forms(const FeedSettings& settings);

struct TemplateValues {
  std::string_view secret;
  std::span<const std::string> symbols;
  const SymbolForms* forms = nullptr;  ///< null: symbols as we write them
  std::string_view value = {};
};

[[nodiscard]] std::string fill_template(std::string_view text, const TemplateValues& values, Escape escape);

/// Whether the text has a place for symbols, and so must be sent once a batch.
[[nodiscard]] bool mentions_symbols(std::string_view text);

/// How many symbols one such text is for: one where it has a place for one alone, else `batch`.
[[nodiscard]] std::size_t batch_for(std::string_view text, int batch);

/// What stands in braces like a place to fill and is none: "{symbol_list}". Each once.
[[nodiscard]] std::vector<std::string> unknown_places(std::string_view text);

}  // namespace brimwatch
