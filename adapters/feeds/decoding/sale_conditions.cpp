#include "adapters/feeds/decoding/sale_conditions.h"

#include <algorithm>

#include "config/embedded.h"

namespace brimwatch {
namespace {

constexpr char kUnknownCode = '?';  // no tape has it: the eligibility table takes it for what it does not know
constexpr char kOddLot = 'I';       // of both tapes

/// Collects codes; what does not fit shows as an unknown one, which is the careful side.
class CodeList {
 public:
  CodeList(const Mapping& mapping, UnknownCodes& unknown) : mapping_(mapping), unknown_(unknown) {}

  /// A whole text: a word of the source's list, or several of them with commas or blanks between, or letters as on the
  /// tape.
  void add_text(std::string_view text) {
    if (add_word(text)) return;
    const bool commas = text.find(',') != text.npos;
    if (commas || (mapping_.tape_codes.empty() && knows_a_part(text))) return add_parts(text);
    add_together(text);
  }

  /// One entry of a list.
  void add_entry(std::string_view text) {
    if (add_word(text)) return;
    if (text.size() <= 1) return add_together(text);
    add_unknown(text);
  }

  void add_odd_lot() {
    if (codes_.view().find(kOddLot) == std::string_view::npos) add(kOddLot);
  }

  [[nodiscard]] Conditions done() const { return codes_; }

 private:
  void add_parts(std::string_view text) {
    while (!text.empty()) {
      const std::size_t end = text.find_first_of(", ");
      add_entry(text.substr(0, end));
      text = end == text.npos ? std::string_view() : text.substr(end + 1);
    }
  }

  [[nodiscard]] bool knows_a_part(std::string_view text) const {
    for (std::size_t end = text.find(' '); end != text.npos; end = text.find(' ')) {
      if (mapping_.condition_words.count(text.substr(0, end)) != 0) return true;
      text.remove_prefix(end + 1);
    }
    return mapping_.condition_words.count(text) != 0;
  }

  /// Letters without anything between: the tape's where the source uses them, else each a word of its own or none of
  /// them.
  void add_together(std::string_view text) {
    if (!mapping_.tape_codes.empty()) return add_letters(text);
    const bool all_words = std::all_of(text.begin(), text.end(), [&](const char& c) {
      return mapping_.condition_words.count(std::string_view(&c, 1)) != 0;
    });
    if (!all_words) return add_unknown(text);
    for (const char& c : text) (void)add_word({&c, 1});
  }

  void add_letters(std::string_view text) {
    for (const char& c : text) {
      if (c == ' ' || c == '\0') continue;
      if (mapping_.tape_codes.find(c) == std::string::npos) unknown_.add({&c, 1});
      add(c);
    }
  }

  bool add_word(std::string_view text) {
    const auto found = mapping_.condition_words.find(text);
    if (found == mapping_.condition_words.end()) return false;
    for (const char c : found->second) {
      if (c != ' ') add(c);
    }
    return true;
  }

  void add_unknown(std::string_view text) {
    if (text.empty()) return;
    unknown_.add(text);
    add(kUnknownCode);
  }

  void add(char code) {
    if (used_ < codes_.codes.size()) codes_.codes[used_++] = code;
    else codes_.codes.back() = kUnknownCode;
  }

  const Mapping& mapping_;
  UnknownCodes& unknown_;
  Conditions codes_;
  std::size_t used_ = 0;
};

}  // namespace

Conditions conditions_of(const Mapping& mapping, const FieldValue& value, const MessageValues& message, bool odd_lot,
                         UnknownCodes& unknown) {
  if (!value.is_given() && !odd_lot) return {};
  CodeList codes(mapping, unknown);
  if (value.is_given()) unknown.begin_trade();
  if (value.kind == FieldValue::Kind::list) {
    for (std::uint32_t i = 0; i < value.count; ++i) codes.add_entry(message.entries[value.first + i]);
  } else if (value.kind == FieldValue::Kind::text) {
    codes.add_text(value.text);
  } else if (value.is_given()) {
    codes.add_entry(value.text);
  }
  if (odd_lot) codes.add_odd_lot();
  return codes.done();
}

std::string codes_of_the_tapes() {
  constexpr std::string_view kBefore = "{ code = \"";
  std::string codes;
  for (const EmbeddedFile& file : embedded_conditions()) {
    const std::string_view text = file.text;
    for (std::size_t at = text.find(kBefore); at != text.npos; at = text.find(kBefore, at + 1)) {
      codes += text[at + kBefore.size()];
    }
  }
  return codes;
}

}  // namespace brimwatch
