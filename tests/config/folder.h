#pragma once
// A folder of its own for a test's files, gone afterwards; and a load of a text, with its errors as lines.
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "config/loader.h"

namespace brimwatch {

class Folder {
 public:
  Folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "brimwatch-config-XXXXXX").string();
    path_ = ::mkdtemp(pattern.data());
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(path(name), std::ios::binary) << text;
    return path(name);
  }
  [[nodiscard]] std::string path(const std::string& name) const { return path_ + "/" + name; }
  [[nodiscard]] const std::string& path() const { return path_; }

  /// Problems as lines, this folder's path left out.
  [[nodiscard]] std::vector<std::string> lines(const std::vector<Problem>& problems) const {
    std::vector<std::string> out;
    for (const Problem& problem : problems) {
      std::string line = to_string(problem);
      for (std::size_t at; (at = line.find(path_ + "/")) != std::string::npos;) line.erase(at, path_.size() + 1);
      out.push_back(std::move(line));
    }
    return out;
  }

 private:
  std::string path_;
};

}  // namespace brimwatch
