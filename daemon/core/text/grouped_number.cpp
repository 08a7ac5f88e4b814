#include "core/text/grouped_number.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr std::size_t kLongest = 40;  // a hundred times what fits into a price or a count

bool all_digits(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

/// How many commas part `whole`, digits in front of a point, into groups of three; 0 where they do not.
int groups_parted(std::string_view whole) {
  const std::size_t first = whole.find(',');
  if (first == std::string_view::npos || first < 1 || first > 3 || whole[0] == '0') return 0;
  if (!all_digits(whole.substr(0, first))) return 0;
  int parted = 0;
  for (std::size_t at = first; at < whole.size(); at += 4, ++parted) {
    const std::string_view group = whole.substr(at, 4);
    if (group.size() != 4 || group[0] != ',' || !all_digits(group.substr(1))) return 0;
  }
  return parted;
}

std::optional<std::string> ungrouped(std::string_view text, int least_commas) {
  if (text.size() > kLongest) return std::nullopt;
  const bool negative = text.starts_with('-');
  const std::size_t point = std::min(text.find('.'), text.size());
  const std::string_view fraction = text.substr(point);
  const bool has_fraction = fraction.size() > 1 && all_digits(fraction.substr(1));
  if (!fraction.empty() && !has_fraction) return std::nullopt;
  const int commas = groups_parted(text.substr(negative, point - negative));
  if (commas == 0 || (!has_fraction && commas < least_commas)) return std::nullopt;
  std::string out(text);
  std::erase(out, ',');
  return out;
}

}  // namespace

std::optional<std::string> ungrouped_count(std::string_view text) { return ungrouped(text, 1); }

std::optional<std::string> ungrouped_price(std::string_view text) { return ungrouped(text, 2); }

std::string_view comma_hint(std::string_view text) {
  if (text.find(',') == std::string_view::npos) return {};
  return " (commas only between thousands, as in 1,234,567 or 1,234.50; not where they can mean a decimal comma)";
}

}  // namespace brimwatch
