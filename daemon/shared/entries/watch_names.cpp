#include "shared/entries/watch_names.h"

#include <algorithm>
#include <cstdint>

namespace brimwatch {
namespace {

constexpr std::size_t kNamesMost = 20'000;
constexpr std::size_t kShown = 5;

std::vector<std::string_view> lines_in(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    if (end > 0) lines.push_back(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  std::sort(lines.begin(), lines.end());
  return lines;
}

std::string only_on(std::string_view name, const std::vector<std::string_view>& here,
                    const std::vector<std::string_view>& there) {
  std::vector<std::string_view> only;
  std::set_difference(here.begin(), here.end(), there.begin(), there.end(), std::back_inserter(only));
  if (only.empty()) return {};
  std::string text = "only on " + std::string(name) + ": ";
  for (std::size_t i = 0; i < std::min(kShown, only.size()); ++i) text.append(i == 0 ? "" : ", ").append(only[i]);
  if (only.size() > kShown) text += " and " + std::to_string(only.size() - kShown) + " more";
  return text;
}

}  // namespace

std::string watch_names_text(const WatchList& watches) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < watches.size(); ++i)
    names.push_back(std::string(watches[i].symbol) + " " + to_string(watches[i].pivot));
  std::sort(names.begin(), names.end());
  std::string text;
  for (std::size_t i = 0; i < std::min(names.size(), kNamesMost); ++i) text += names[i] + "\n";
  if (names.size() > kNamesMost) text += "and " + std::to_string(names.size() - kNamesMost) + " more\n";
  return text.empty() ? "\n" : text;
}

/// FNV-1a, 64 bits: nobody gains by making two lists look alike.
std::string short_hash(std::string_view text) {
  std::uint64_t hash = 0xcbf29ce484222325U;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3U;
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string out;
  for (int shift = 60; shift >= 0; shift -= 4) out += kDigits[hash >> shift & 15];
  return out;
}

std::string list_difference(std::string_view name, std::string_view list, std::string_view other_name,
                            std::string_view other_list) {
  const auto here = lines_in(list), there = lines_in(other_list);
  std::string text = only_on(name, here, there);
  const std::string other = only_on(other_name, there, here);
  if (!text.empty() && !other.empty()) text += "; ";
  return text + other;
}

std::string house_version() { return BRIMWATCH_VERSION; }

}  // namespace brimwatch
