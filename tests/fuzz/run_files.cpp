// The normal build's main around a fuzz target: runs it on files and on all files of directories, and then on RUNS inputs
// made of them by chance (cut, doubled, joined, bytes turned). Blind to coverage, unlike libFuzzer, but under every
// sanitizer of every build, and always the same inputs. Usage: TARGET [--runs N] FILES...
#include <sanitizer/common_interface_defs.h>

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <string_view>
#include <vector>

#include "tests/support/whole_file.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

constexpr std::size_t kSizeMost = 16'384;
std::string g_input;  // for the report of a death

void run(std::string input) {
  g_input = std::move(input);
  LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(g_input.data()), g_input.size());
}

void keep_the_input() {
  std::ofstream("fuzz-death", std::ios::binary) << g_input;
  std::fputs("its input is in the file fuzz-death\n", stderr);
}

std::vector<std::string> read_all(int count, char** words, int first) {
  std::vector<std::filesystem::path> paths;
  for (int i = first; i < count; ++i) {
    if (!std::filesystem::is_directory(words[i])) {
      paths.emplace_back(words[i]);
      continue;
    }
    for (const auto& entry : std::filesystem::recursive_directory_iterator(words[i])) {
      if (entry.is_regular_file()) paths.push_back(entry.path());
    }
  }
  std::sort(paths.begin(), paths.end());  // the same inputs wherever the folder lies
  std::vector<std::string> corpus;
  for (const auto& path : paths) corpus.push_back(brimwatch::test::whole_file(path));
  return corpus;
}

/// What parsers stumble over: ends, signs, numbers that do not fit, quotes, bytes that are no text.
constexpr std::array<std::string_view, 16> kStones = {
    "",        "-1",       "0",          "9223372036854775808",
    "1e309",   "nan",      "\"",         "\n",
    "\r",      ",",        "[[",         "{\"",
    "\\u0000", "\xff\xfe", "2026-02-30", std::string_view("\0\0\0\0", 4)};

class Mutator {
 public:
  explicit Mutator(const std::vector<std::string>& corpus) : corpus_(corpus) {}

  std::string next() {
    std::string text = corpus_[below(corpus_.size())];
    for (std::size_t changes = 1 + below(6); changes > 0; --changes) change(text);
    if (text.size() > kSizeMost) text.resize(kSizeMost);
    return text;
  }

 private:
  std::size_t below(std::size_t bound) { return bound == 0 ? 0 : random_() % bound; }

  void change(std::string& text) {
    const std::size_t at = below(text.size() + 1), rest = text.size() - at,
                      some = below(std::min<std::size_t>(rest, 64) + 1);
    switch (below(6)) {
      case 0:
        if (rest > 0) text[at] = static_cast<char>(text[at] ^ (1 << below(8)));
        break;
      case 1:
        if (rest > 0) text[at] = static_cast<char>(random_());
        break;
      case 2:
        text.erase(at, some);
        break;
      case 3:
        text.insert(at, text.substr(at, some));
        break;
      case 4:
        text.replace(at, some, kStones[below(kStones.size())]);
        break;
      default: {  // joined with another
        const std::string& other = corpus_[below(corpus_.size())];
        text.replace(at, rest, other.substr(below(other.size() + 1)));
      }
    }
  }

  const std::vector<std::string>& corpus_;
  std::mt19937_64 random_{1};
};

}  // namespace

int main(int count, char** words) {
  const bool asked = count > 2 && std::string_view(words[1]) == "--runs";
  const long runs = asked ? std::strtol(words[2], nullptr, 10) : 0;
  const auto corpus = read_all(count, words, asked ? 3 : 1);
  if (corpus.empty()) return 1;
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
  __sanitizer_set_death_callback(keep_the_input);
#endif
  std::signal(SIGABRT, [](int) { keep_the_input(); });  // the targets' own checks; the program ends when this returns
  for (const auto& input : corpus) run(input);
  Mutator mutator(corpus);
  for (long i = 0; i < runs; ++i) run(mutator.next());
  std::printf("%zu files, %ld inputs made of them\n", corpus.size(), runs);
  return 0;
}
