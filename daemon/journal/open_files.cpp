#include "journal/open_files.h"

#include <sys/stat.h>

#include <map>

namespace brimwatch {
namespace {

using FileKey = std::pair<dev_t, ino_t>;

std::mutex& gate() {
  static std::mutex one;
  return one;
}

std::map<FileKey, int>& counts() {
  static std::map<FileKey, int> one;
  return one;
}

FileKey key_of(const std::string& path) {
  struct stat info {};
  return ::stat(path.c_str(), &info) == 0 ? FileKey{info.st_dev, info.st_ino} : FileKey{};
}

}  // namespace

std::unique_lock<std::mutex> OpenFile::only_one() { return std::unique_lock(gate()); }

std::pair<dev_t, ino_t> OpenFile::identity(const std::string& path) { return key_of(path); }

bool OpenFile::is_open(const std::string& path) { return counts().contains(key_of(path)); }

OpenFile::OpenFile(const std::string& path) : key_(key_of(path)) {
  if (key_ != FileKey{}) ++counts()[key_];
}

bool OpenFile::is_at(const std::string& path) const { return key_ != FileKey{} && key_of(path) == key_; }

OpenFile::~OpenFile() {
  if (key_ == FileKey{}) return;
  const std::unique_lock lock = only_one();
  if (--counts()[key_] == 0) counts().erase(key_);
}

}  // namespace brimwatch
