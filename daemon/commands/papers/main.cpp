// write_papers TEMPLATES DIRECTORY VERSION: manual pages from config/manual/*.in and completions, written into DIRECTORY.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "commands/papers/completion.h"
#include "commands/papers/manual.h"

namespace {

namespace fs = std::filesystem;

bool write(const fs::path& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary | std::ios::trunc);
  file << text;
  file.close();
  if (!file) std::fprintf(stderr, "write_papers: %s cannot be written\n", path.c_str());
  return static_cast<bool>(file);
}

std::string read(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

}  // namespace

int main(int argc, char** argv) {
  using namespace brimwatch;
  if (argc != 4) return std::fputs("write_papers TEMPLATES DIRECTORY VERSION\n", stderr), 2;
  const fs::path to = argv[2];
  fs::create_directories(to / "man");
  fs::create_directories(to / "completions");
  const CommandPaper program = program_paper();
  bool good = write(to / "completions" / "brimwatch", bash_completion(program)) &&
              write(to / "completions" / "_brimwatch", zsh_completion(program)) &&
              write(to / "completions" / "brimwatch.fish", fish_completion(program));
  for (const auto& entry : fs::directory_iterator(argv[1])) {
    if (entry.path().extension() != ".in") continue;
    const fs::path name = entry.path().stem();  // brimwatch.1.in -> brimwatch.1
    good = write(to / "man" / name, manual_page(read(entry.path()), program, argv[3])) && good;
  }
  return good ? 0 : 1;
}
