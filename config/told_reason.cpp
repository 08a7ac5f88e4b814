#include "config/told_reason.h"

#include <algorithm>
#include <array>
#include <span>

#include "config/address.h"
#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kLookedAt = 8192;  // bytes of the body
constexpr std::size_t kReasonMost = 120;
constexpr std::size_t kCodeLeast = 20;  // characters: no word of a language that has digits in it is so long
constexpr int kDepthMost = 4;

// Names without what is no letter, in small letters; the first that has words wins.
constexpr std::array<std::string_view, 5> kErrorNames{"errormessage", "errordescription", "errors", "error", "fault"};
constexpr std::array<std::string_view, 18> kReasonNames{
    "message", "errormessage", "errordescription", "errordetail", "msg",         "detail", "details", "errors", "error",
    "fault",   "reason",       "errortext",        "description", "information", "info",   "note",    "title",  "status"};

/// As letters of one case alone.
std::string plain_letters(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const char small = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    if (small >= 'a' && small <= 'z') out += small;
  }
  return out;
}

/// The first words within, wherever they stand by one of these names.
std::string reason_in(const Json& value, std::span<const std::string_view> names, int depth) {
  if (value.is_string()) return value.get<std::string>();
  if (depth == 0) return {};
  if (value.is_array()) return value.empty() ? std::string() : reason_in(value.front(), kReasonNames, depth - 1);
  if (!value.is_object()) return {};
  for (const std::string_view name : names) {
    for (const auto& [key, inner] : value.items()) {
      if (plain_letters(key) != name) continue;
      std::string reason = reason_in(inner, kReasonNames, depth - 1);
      if (!clean_line(reason).empty()) return reason;
    }
  }
  return {};
}

/// As a letter of either case.
std::string small_letters(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), [](char c) { return c >= 'A' && c <= 'Z' ? char(c + 32) : c; });
  return out;
}

/// Its title, or its words where it has none.
std::string words_of_page(std::string_view page) {
  const std::string small = small_letters(page);
  const std::size_t begin = small.find("<title>");
  const std::size_t end = begin == small.npos ? begin : small.find('<', begin + 7);
  if (end != small.npos) return std::string(page.substr(begin + 7, end - begin - 7));
  std::string out;
  bool in_tag = false;
  for (const char c : page) {
    in_tag = (in_tag || c == '<') && c != '>';
    if (!in_tag) out += c == '>' ? ' ' : c;
  }
  return out;
}

std::string reason_of(std::string_view body) {
  const std::size_t first = body.find_first_not_of(" \t\r\n");
  if (first == body.npos) return {};
  body = body.substr(first, kLookedAt);
  if (body.front() == '<') return words_of_page(body);
  if (body.front() == '{' || body.front() == '[' || body.front() == '"') {
    const Json json = Json::parse(body, nullptr, false);
    std::string reason = json.is_discarded() ? std::string() : reason_in(json, kReasonNames, kDepthMost);
    if (!reason.empty()) return reason;
  }
  return std::string(body.substr(0, body.find_first_of("\r\n")));
}

bool is_border(char c) {
  constexpr std::string_view kBorders = "\"'<>(){},; \t\r\n";
  return kBorders.find(c) != kBorders.npos;
}

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// A key, a token, or a number that the other side gave this request: long, with letters and digits.
std::string without_codes(std::string_view word) {
  std::string out;
  for (std::size_t at = 0; at < word.size();) {
    std::size_t end = at;
    while (end < word.size() && (is_letter(word[end]) || is_digit(word[end]) ||
                                 std::string_view("-_+=~").find(word[end]) != std::string_view::npos))
      ++end;
    const std::string_view run = word.substr(at, end - at);
    const bool code = run.size() >= kCodeLeast && std::any_of(run.begin(), run.end(), is_letter) &&
                      std::any_of(run.begin(), run.end(), is_digit);
    out += code ? std::string_view("(code)") : run;
    if (end < word.size()) out += word[end++];
    at = end;
  }
  return out;
}

/// "apikey=k-123" is "apikey=...".
std::string without_named_secret(std::string_view word) {
  constexpr std::array kNames{"key", "token", "secret", "pass", "sig", "auth"};
  const std::size_t equals = word.find('=');
  if (equals == word.npos) return without_codes(word);
  const std::string name = small_letters(word.substr(0, equals));
  const bool secret =
      std::any_of(kNames.begin(), kNames.end(), [&](const char* one) { return name.find(one) != std::string::npos; });
  return secret ? std::string(word.substr(0, equals)) + "=..." : without_codes(word);
}

/// One word without what may be a key: of an address its host, of a path what stands before the question mark.
std::string harmless(std::string_view word) {
  const std::size_t scheme = word.find("://");
  if (scheme != word.npos) {
    std::size_t begin = scheme;
    while (begin > 0 && is_letter(word[begin - 1])) --begin;
    const std::string address(word.substr(begin));
    return std::string(word.substr(0, begin)) + (parse_address(address) ? address_to_show(address) : "(an address)");
  }
  const std::size_t query = word.find('?');
  if (query != word.npos && word.find('=', query) != word.npos) return without_codes(word.substr(0, query)) + "?...";
  return without_named_secret(word);
}

std::string without_keys(std::string_view text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const auto* const from = text.begin() + at;
    const auto end = static_cast<std::size_t>(std::find_if(from, text.end(), is_border) - text.begin());
    out += harmless(text.substr(at, end - at));
    if (end < text.size()) out += text[end];
    at = end + 1;
  }
  return out;
}

}  // namespace

std::string told_reason(std::string_view body) { return clean_line(without_keys(reason_of(body)), kReasonMost); }

std::string told_error(std::string_view body, bool any_word) {
  if (body.size() > kLookedAt) return {};
  const Json json = Json::parse(body, nullptr, false);
  if (!json.is_object()) return {};
  const std::span<const std::string_view> names =
      any_word ? std::span<const std::string_view>(kReasonNames) : kErrorNames;
  return clean_line(without_keys(reason_in(json, names, kDepthMost)), kReasonMost);
}

std::string quoted_reason(std::string_view body) {
  const std::string reason = told_reason(body);
  return reason.empty() ? reason : ": \"" + reason + "\"";
}

}  // namespace brimwatch
