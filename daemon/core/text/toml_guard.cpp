#include "core/text/toml_guard.h"

#include <string>

namespace brimwatch {
namespace {

constexpr int kPartsMost = 64;  // points between the parts of one key

bool is_key_character(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
}

bool is_ascii(char c) { return static_cast<unsigned char>(c) < 0x80; }

/// Walks the text once, knowing just enough of TOML to tell strings and comments from the rest.
class Walk {
 public:
  explicit Walk(std::string_view text) : text_(text) {
    if (text_.substr(0, 3) == "\xEF\xBB\xBF") line_start_ = at_ = 3;
  }

  std::optional<TomlTrouble> run() {
    while (at_ < text_.size()) {
      if (const char* wrong = step()) return TomlTrouble{line_, column(), wrong};
    }
    return std::nullopt;
  }

 private:
  /// One character, string, comment or header; nullptr while nothing is wrong.
  const char* step() {
    const char c = text_[at_];
    if (c == '#') return skip_comment();
    if (c == '"' || c == '\'') return skip_string(c);
    if (!is_ascii(c)) return "letters outside quotes are a-z, A-Z, 0-9, _ and -; put other ones in quotes";
    if (c == '[' && at_line_start_ && open_.empty()) return enter_header();
    if (c == '[' || c == '{') open_ += c;
    if ((c == ']' || c == '}') && !open_.empty()) {
      if ((open_.back() == '[') != (c == ']')) return "a bracket closes what a brace opened, or the other way round";
      open_.pop_back();
    }
    if (c == '=' || c == ',') points_ = 0;  // a value begins, or what follows one
    if (c == '.' && ++points_ > kPartsMost) return "more than 64 points in one key";
    if (c == '\n') begin_line();
    else if (c != ' ' && c != '\t') at_line_start_ = false;
    ++at_;
    return nullptr;
  }

  const char* enter_header() {
    at_line_start_ = false;
    ++at_;
    if (at_ < text_.size() && text_[at_] == '[') ++at_;
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) ++at_;
    if (at_ >= text_.size()) return nullptr;
    const char c = text_[at_];
    const bool key = is_key_character(c) || c == '"' || c == '\'' || c == ']';
    return key ? nullptr : "a section's name begins with a letter, digit, _, - or a quote";
  }

  const char* skip_comment() {
    while (at_ < text_.size() && text_[at_] != '\n') ++at_;
    return nullptr;
  }

  /// Steps behind the closing quote; at the end of the line where a plain string has none (the parser tells).
  const char* skip_string(char quote) {
    at_line_start_ = false;
    const bool many_lines = text_.substr(at_, 3) == (quote == '"' ? R"(""")" : "'''");
    const std::size_t width = many_lines ? 3 : 1;
    const std::string_view closing = text_.substr(at_, width);
    at_ += width;
    while (at_ < text_.size() && text_.substr(at_, width) != closing) {
      if (text_[at_] == '\n' && !many_lines) return nullptr;
      if (text_[at_] == '\n') begin_line();
      if (text_[at_] == '\\' && quote == '"' && at_ + 1 < text_.size() && text_[at_ + 1] != '\n') ++at_;
      ++at_;
    }
    at_ += width;
    while (many_lines && at_ < text_.size() && text_[at_] == quote) ++at_;  // quotes right before the closing ones
    at_line_start_ = false;
    return nullptr;
  }

  void begin_line() {
    ++line_;
    line_start_ = at_ + 1;
    at_line_start_ = true;
    points_ = 0;
  }

  [[nodiscard]] std::uint32_t column() const {
    std::uint32_t column = 1;
    for (std::size_t i = line_start_; i < at_; ++i) column += (static_cast<unsigned char>(text_[i]) & 0xC0U) != 0x80U;
    return column;
  }

  std::string_view text_;
  std::size_t at_ = 0, line_start_ = 0;
  std::uint32_t line_ = 1;
  std::string open_;  ///< brackets and braces of values that are not closed yet
  int points_ = 0;    ///< of this key or value, outside strings
  bool at_line_start_ = true;
};

}  // namespace

std::optional<TomlTrouble> toml_trouble(std::string_view text) { return Walk(text).run(); }

}  // namespace brimwatch
