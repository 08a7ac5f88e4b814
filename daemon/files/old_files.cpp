#include "files/old_files.h"

#include <sys/stat.h>

#include <filesystem>
#include <system_error>

#include "files/own_files.h"

namespace brimwatch {
namespace {

bool is_older(const std::string& path, Timestamp before) {
  struct stat info {};
  if (::lstat(path.c_str(), &info) != 0 || !S_ISREG(info.st_mode)) return false;
  return info.st_mtim.tv_sec * kSecond + info.st_mtim.tv_nsec < before.ns;
}

}  // namespace

OldFiles remove_old_files(const std::string& folder, const std::function<bool(std::string_view name)>& is_ours,
                          Timestamp before, std::size_t most) {
  OldFiles out;
  std::error_code error;
  std::filesystem::directory_iterator at(folder, error);
  for (; !error && at != std::filesystem::directory_iterator(); at.increment(error)) {
    const std::string path = at->path().string();
    if (!is_ours(at->path().filename().string()) || !is_older(path, before)) continue;
    if (out.removed >= most) return out.finished = false, out;
    if (remove_plain_file(path)) ++out.removed;
    else ++out.kept_against_will;
  }
  return out;
}

}  // namespace brimwatch
