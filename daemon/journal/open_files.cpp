#include "journal/open_files.h"

#include <sys/stat.h>

#include <map>

namespace brimwatch {
namespace {

using Key = std::pair<dev_t, ino_t>;

std::mutex& gate() {
  static std::mutex one;
  return one;
}

std::map<Key, int>& counts() {
  static std::map<Key, int> one;
  return one;
}

Key key_of(const std::string& path) {
  struct stat info {};
  return ::stat(path.c_str(), &info) == 0 ? Key{info.st_dev, info.st_ino} : Key{};
}

}  // namespace

std::unique_lock<std::mutex> OpenFile::only_one() { return std::unique_lock(gate()); }

std::pair<dev_t, ino_t> OpenFile::identity(const std::string& path) { return key_of(path); }

bool OpenFile::is_open(const std::string& path) { return counts().contains(key_of(path)); }

OpenFile::OpenFile(const std::string& path) : key_(key_of(path)) {
  if (key_ != Key{}) ++counts()[key_];
}

bool OpenFile::is_at(const std::string& path) const { return key_ != Key{} && key_of(path) == key_; }

OpenFile::~OpenFile() {
  if (key_ == Key{}) return;
  const std::unique_lock lock = only_one();
  if (--counts()[key_] == 0) counts().erase(key_);
}

}  // namespace brimwatch
