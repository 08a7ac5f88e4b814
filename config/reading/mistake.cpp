#include "config/reading/mistake.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <regex>

#include "config/reading/text.h"
#include "core/text/grouped_number.h"
#include "core/text/text.h"
#include "core/text/timestamp.h"

namespace brimwatch {
namespace {

using Words = std::optional<std::string>;
constexpr std::size_t kValueLongest = 200;  ///< bytes of a value that is looked at: nobody mistypes a longer one

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

/// Up to a remark, which begins with # outside quotes.
std::string_view without_remark(std::string_view text) {
  char quote = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (quote != 0) quote = text[i] == quote ? '\0' : quote;
    else if (text[i] == '"' || text[i] == '\'') quote = text[i];
    else if (text[i] == '#') return text.substr(0, i);
  }
  return text;
}

/// What stands for a value at that place: all that follows the =, or one item of a list or table.
std::string_view value_at(std::string_view line, std::size_t at) {
  const std::size_t equals = line.find('=');
  const std::string_view all = equals == std::string_view::npos ? line : line.substr(equals + 1);
  const std::string_view value = trimmed(without_remark(all));
  const bool is_list = !value.empty() && (value.front() == '[' || value.front() == '{');
  if (equals != std::string_view::npos && !is_list) return value;
  constexpr std::string_view kEnds = ",[]{}=";
  at = std::min(at, line.empty() ? 0 : line.size() - 1);
  const std::size_t before = at == 0 ? std::string_view::npos : line.find_last_of(kEnds, at - 1);
  const std::size_t from = before == std::string_view::npos ? 0 : before + 1;
  const std::size_t end = std::min(line.find_first_of(kEnds, at), line.size());
  return trimmed(without_remark(line.substr(from, end - from)));
}

std::string shown(std::string_view value) { return clean_line(value, 40); }
std::string found(std::string_view value, std::string_view expected) {
  return "found " + shown(value) + ", expected " + std::string(expected);
}
bool matches(std::string_view value, std::cmatch& parts, const std::regex& form) {
  return std::regex_match(value.data(), value.data() + value.size(), parts, form);
}
bool matches(std::string_view value, const std::regex& form) {
  std::cmatch parts;
  return matches(value, parts, form);
}

std::string two_digits(const std::string& digits) { return digits.size() < 2 ? "0" + digits : digits; }

/// 31.12.2026, 12/31/2026, 2026-1-5. Where day and month cannot be told apart, only the form is said.
Words meant_date(std::string_view value) {
  static const std::regex kDate(R"((\d{1,4})([./-])(\d{1,2})\2(\d{1,4}))");
  std::cmatch part;
  if (!matches(value, part, kDate)) return std::nullopt;
  constexpr std::string_view kForm = "a date as year-month-day, without quotes: 2026-12-31";
  std::string year = part[1], month = part[3], day = part[4];
  if (year.size() != 4) std::swap(year, day);
  if (year.size() != 4) return found(value, kForm);
  const bool is_month_first = part[2] == "/" && std::stoi(month) > 12;
  if (is_month_first) std::swap(month, day);
  const bool is_open = part[2] == "/" && std::stoi(month) <= 12 && std::stoi(day) <= 12 && part[1].length() < 3;
  const std::string meant = year + "-" + two_digits(month) + "-" + two_digits(day);
  if (is_open) return found(value, kForm);
  if (!parse_date(meant)) return found(value, "a day that exists, as 2026-12-31");
  return found(value, "a date as year-month-day, without quotes: " + meant);
}

Words meant_truth(std::string_view value) {
  std::string small(value);
  std::transform(small.begin(), small.end(), small.begin(), [](unsigned char c) { return std::tolower(c); });
  for (const std::string_view yes : {"yes", "on", "true"})
    if (small == yes) return found(value, "true, in small letters and without quotes, or a text in quotes");
  for (const std::string_view no : {"no", "off", "false"})
    if (small == no) return found(value, "false, in small letters and without quotes, or a text in quotes");
  return std::nullopt;
}

/// Figures with what does not belong to them: a currency, a percent sign, commas, needless zeros.
Words meant_number(std::string_view value) {
  static const std::regex kPercent(R"(([-+]?[\d.]+) ?%)"), kMoney(R"((?:\$|€|£|USD |EUR )\s*([\d.]+))"),
      kZeros(R"(0+(\d[\d.]*))"), kPoint(R"((\.\d+))"), kEuropean(R"((\d{1,3})\.(\d{3}),(\d+))"), kComma(R"((\d+),(\d+))");
  std::cmatch part;
  if (matches(value, part, kPercent)) return found(value, "the number alone: " + part[1].str());
  if (matches(value, part, kMoney)) return found(value, "the number alone: " + part[1].str());
  if (matches(value, part, kPoint)) return found(value, "a digit before the point: 0" + part[1].str());
  if (matches(value, part, kZeros)) return found(value, "no zeros in front: " + part[1].str());
  if (matches(value, part, kEuropean)) {
    return found(value, "a point for the decimals and nothing between the thousands: " + part[1].str() + part[2].str() +
                            "." + part[3].str());
  }
  if (const auto plain = ungrouped_price(value)) return found(value, "no commas: " + *plain);
  if (matches(value, part, kComma) && part[2].length() != 3)
    return found(value, "a point for the decimals: " + part[1].str() + "." + part[2].str());
  if (matches(value, part, kComma)) {
    return found(value, "a point for decimals, and no commas between thousands: " + part[1].str() + "." + part[2].str() +
                            " or " + part[1].str() + part[2].str());
  }
  return std::nullopt;
}

/// Words, times, counts with a letter: right in quotes.
Words meant_text(std::string_view value) {
  static const std::regex kClock(R"(\d{1,2}:\d{2}(?::\d{2})?(?: ?- ?\d{1,2}:\d{2})?)"),
      kCount(R"(\d+(?:\.\d+)?[kKmMbB])"), kWord(R"([A-Za-z~/][\w.,:/@~*+ -]*)");
  if (!matches(value, kClock) && !matches(value, kCount) && !matches(value, kWord)) return std::nullopt;
  return "found " + shown(value) + " without quotes, expected \"" + shown(value) + "\"";
}

Words meant_ending(std::string_view value) {
  static const std::regex kNextKey(R"([^"']+\s+([A-Za-z_]+)\s*=.*|(?:"[^"]*"|'[^']*')\s*,?\s*([A-Za-z_]+)\s*=.*)");
  std::cmatch part;
  if (value.ends_with(';') || value.ends_with(',')) {
    return "found a \"" + std::string(1, value.back()) +
           "\" at the end, expected nothing there: the line's end is enough";
  }
  if (value.find(" //") != std::string_view::npos) return "found a remark after //, expected # in front of a remark";
  if (matches(value, part, kNextKey)) {
    return "found a second key, \"" + shown(part[1].matched ? part[1].str() : part[2].str()) +
           "\", on the same line, expected one key a line";
  }
  return std::nullopt;
}

constexpr std::array<std::string_view, 7> kCurly = {"“", "”", "‘", "’", "„", "«", "»"};

Words meant_quotes(std::string_view value) {
  if (value.empty()) return std::nullopt;
  std::string straight(value);
  for (const std::string_view curly : kCurly)
    for (std::size_t at = 0; (at = straight.find(curly)) != std::string::npos;) straight.erase(at, curly.size());
  if (straight != value)
    return "found " + shown(value) + " in curly quotes, expected straight ones: \"" + shown(straight) + "\"";
  const char quote = value.front();
  if ((quote != '"' && quote != '\'') || value.find(quote, 1) != std::string_view::npos) return std::nullopt;
  return "found " + shown(value) + " with no quote at its end, expected " + shown(value) + quote;
}

/// Of the line's shape, where the value is not to blame.
Words meant_shape(std::string_view line, std::string_view said) {
  const auto says = [&](std::string_view words) { return said.find(words) != std::string_view::npos; };
  const std::string key(shown(trimmed(line.substr(0, line.find_first_of("=:")))));
  if (says("cannot redefine existing")) return "found \"" + key + "\" a second time, expected it once";
  if (says("table header"))
    return "found " + shown(trimmed(line)) + ", expected [name] or [[name]] with the brackets closed";
  if (says("expected '='") || says("expected keys")) return found(trimmed(line), "KEY = VALUE");
  if (says("expected value")) return "found nothing after " + key + " =, expected a value";
  if (says("expected comma or closing"))
    return "found a list that is not closed or has no comma between its items, expected [\"a\", \"b\"]";
  if (says("invalid utf-8")) return "found a byte that is not UTF-8, expected UTF-8 text: save the file as UTF-8";
  if (says("unicode scalar") || says("escape sequence"))
    return "found a backslash in double quotes, expected it twice (\\\\), or the text in single quotes";
  return std::nullopt;
}

}  // namespace

std::optional<Mistake> explain_quotes(std::string_view line, std::size_t at) {
  const std::string_view value = value_at(line, at);
  const Words meant = value.size() > kValueLongest ? std::nullopt : meant_quotes(value);
  if (!meant) return std::nullopt;
  return Mistake{static_cast<std::size_t>(value.data() - line.data()), *meant};
}

std::optional<Mistake> explain_letter(std::string_view line, std::size_t at) {
  constexpr std::string_view kNoBreak = "\xC2\xA0";  // U+00A0, as copied from a web page or a letter
  if (line.substr(std::min(at, line.size()), 2) == kNoBreak)
    return Mistake{at, "found a no-break space, expected an ordinary space"};
  return explain_quotes(line, at);
}

std::optional<std::string> meant_in_text(std::string_view text, bool is_day) {
  constexpr std::string_view kBefore = ", expected ", kNoQuotes = ", without quotes";
  if (text.size() > kValueLongest) return std::nullopt;
  const Words meant = is_day ? meant_date(text) : meant_number(text);
  const std::size_t at = meant ? meant->rfind(kBefore) : std::string::npos;
  if (at == std::string::npos) return std::nullopt;
  std::string out = meant->substr(at + kBefore.size());
  if (const std::size_t quotes = out.find(kNoQuotes); quotes != std::string::npos) out.erase(quotes, kNoQuotes.size());
  return out;
}

std::optional<Mistake> explain_mistake(std::string_view line, std::size_t at, std::string_view said) {
  const std::string_view value = value_at(line, at);
  if (value.size() > kValueLongest) return std::nullopt;
  const auto value_begins = value.empty() ? at : static_cast<std::size_t>(value.data() - line.data());
  if (auto meant = explain_quotes(line, at)) return meant;
  if (const Words meant = meant_shape(line, said)) return Mistake{at, *meant};
  for (const auto explain : {meant_date, meant_truth, meant_number, meant_ending, meant_text})
    if (const Words meant = explain(value)) return Mistake{value_begins, *meant};
  return std::nullopt;
}

}  // namespace brimwatch
