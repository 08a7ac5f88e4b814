#include "app/added_file.h"

#include <cstdint>
#include <cstdio>

#include "files/own_files.h"
#include "files/text_file.h"

namespace brimwatch {
namespace {

constexpr const char* kMark = "# as written, ";
constexpr int kNamesMost = 1000;

/// FNV-1a, 64 bits: against a hand's change, not against a forger.
std::string sum_of(std::string_view text) {
  std::uint64_t sum = 14695981039346656037U;
  for (const char c : text) sum = (sum ^ static_cast<unsigned char>(c)) * 1099511628211U;
  char hex[17];
  std::snprintf(hex, sizeof hex, "%016llx", static_cast<unsigned long long>(sum));
  return hex;
}

bool is_as_written(const std::string& text) {
  const std::size_t mark = text.rfind(kMark);
  return mark != std::string::npos && text == added_file(text.substr(0, mark));
}

bool names_something(const std::string& list) {
  return list.find("[[watch]]") != std::string::npos || list.find("# dropped: ") != std::string::npos;
}

Result<std::string> put_aside(const std::string& path) {
  for (int number = 1; number <= kNamesMost; ++number) {
    const std::string to = path + ".by-hand" + (number == 1 ? "" : "-" + std::to_string(number));
    if (is_there(to)) continue;
    if (const Status moved = rename_aside(path, to); !moved) return tl::unexpected(moved.error());
    return to;
  }
  return fail(path + ": was changed by hand, and there are too many of its kind beside it; it was left as it is");
}

}  // namespace

std::string added_file(const std::string& list) { return list + kMark + sum_of(list) + "\n"; }

Result<std::string> keep_added_file(const std::string& path, const std::string& list) {
  std::string aside;
  if (is_there(path)) {
    const auto there = read_file(path);
    if (!there || !is_as_written(*there)) {
      auto moved = put_aside(path);
      if (!moved) return moved;
      aside = *moved;
    }
  } else if (!names_something(list)) {
    return aside;
  }
  if (const Status kept = replace_file(path, added_file(list)); !kept) return tl::unexpected(kept.error());
  return aside;
}

}  // namespace brimwatch
