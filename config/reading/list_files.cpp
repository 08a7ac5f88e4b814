#include "config/reading/list_files.h"

#include <glob.h>

#include <filesystem>

#include "config/reading/text.h"
#include "config/reading/value.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> list_folders(const fs::path& file) {
  std::error_code none;
  const fs::path target = fs::weakly_canonical(file, none);
  std::vector<std::string> out{file.parent_path().string()};
  if (!none && fs::is_symlink(file, none) && target.parent_path() != file.parent_path())
    out.push_back(target.parent_path().string());
  return out;
}

std::vector<std::string> files_like(const std::string& pattern) {
  glob_t found{};
  std::vector<std::string> paths;
  if (::glob(pattern.c_str(), 0, nullptr, &found) == 0) paths.assign(found.gl_pathv, found.gl_pathv + found.gl_pathc);
  ::globfree(&found);
  return paths;
}

}  // namespace

ListFiles list_files(const std::string& pattern, const std::string& file, const std::string& home) {
  const std::vector<std::string> folders = list_folders(file);
  const bool is_name = pattern.find_first_of("*?[") == std::string::npos;
  for (const std::string& folder : folders) {
    const std::string full = absolute_path(pattern, folder, home);
    std::error_code none;
    if (is_name && fs::exists(full, none)) return {{full}, {}};
    std::vector<std::string> paths = is_name ? std::vector<std::string>() : files_like(full);
    if (!paths.empty()) return {std::move(paths), {}};
  }
  if (is_name) return {{absolute_path(pattern, folders.front(), home)}, {}};
  std::string where = folders.front();
  for (std::size_t i = 1; i < folders.size(); ++i) where += " or " + folders[i];
  const bool is_relative = !pattern.empty() && pattern.front() != '/' && pattern.front() != '~';
  return {{}, "no file matches " + in_quotes(pattern) + (is_relative ? " in " + where : "")};
}

}  // namespace brimwatch
