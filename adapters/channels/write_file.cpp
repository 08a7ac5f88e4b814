#include "adapters/channels/write_file.h"

#include <filesystem>
#include <system_error>

#include "adapters/channels/crypto.h"
#include "core/text/text.h"
#include "files/own_files.h"

namespace brimwatch {
namespace {

constexpr std::size_t kDigits = 8;  ///< of the sum behind a name

Status make_directory(const std::string& directory) {
  std::error_code error;
  if (std::filesystem::is_directory(directory, error)) return {};
  std::filesystem::create_directories(directory, error);
  if (error) return fail(clean_line(directory, 300) + ": cannot be made: " + error.message());
  std::filesystem::permissions(directory, std::filesystem::perms::owner_all, error);
  return {};
}

}  // namespace

Status write_whole_file(const std::string& directory, const std::string& name, std::string_view bytes) {
  if (const Status made = make_directory(directory); !made) return made;
  const Status written = replace_file(directory + "/" + name, bytes);
  return written ? written : fail(clean_line(written.error().text, 400));
}

std::string file_name_of(std::string_view text) {
  std::string name;
  for (const char c : text.substr(0, 80)) {
    const bool safe = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '-' ||
                      c == '_' || (c == '.' && !name.empty());
    name += safe ? c : '_';
  }
  return name + "-" + sha256_hex(text, kDigits);
}

bool is_name_of_written_mail(std::string_view name) {
  constexpr std::string_view kEnd = ".eml";
  if (!name.ends_with(kEnd) || name.size() < kEnd.size() + kDigits + 1) return false;
  const std::string_view sum = name.substr(name.size() - kEnd.size() - kDigits, kDigits);
  return sum.find_first_not_of("0123456789abcdef") == std::string_view::npos &&
         name[name.size() - kEnd.size() - kDigits - 1] == '-';
}

}  // namespace brimwatch
