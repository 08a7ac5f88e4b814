#include "adapters/feeds/connections/line_splitter.h"

#include <gmock/gmock.h>

#include <vector>

namespace brimwatch {
namespace {

using testing::ElementsAre;

struct Lines {
  std::vector<std::string> got;
  LineSplitter splitter{8, [this](std::string_view line) { got.emplace_back(line); },
                        [this] { got.emplace_back("(long)"); }};
};

TEST(LineSplitter, GivesTheSameLinesHoweverTheBytesAreCut) {
  const std::string bytes = "one\n\ntwo two\nthree\n";
  for (std::size_t cut = 1; cut <= bytes.size(); ++cut) {
    Lines lines;
    for (std::size_t at = 0; at < bytes.size(); at += cut) lines.splitter.add(bytes.substr(at, cut));
    EXPECT_THAT(lines.got, ElementsAre("one", "", "two two", "three")) << cut;
  }
}

TEST(LineSplitter, DropsALineThatIsTooLongAndReadsOn) {
  for (std::size_t cut : {1, 3, 100}) {
    Lines lines;
    const std::string bytes = "12345678\n123456789\nok\n";
    for (std::size_t at = 0; at < bytes.size(); at += cut) lines.splitter.add(std::string_view(bytes).substr(at, cut));
    EXPECT_THAT(lines.got, ElementsAre("12345678", "(long)", "ok")) << cut;
  }
}

TEST(LineSplitter, TheLastLineNeedsNoNewline) {
  Lines lines;
  lines.splitter.add("a\nb");
  lines.splitter.finish();
  EXPECT_THAT(lines.got, ElementsAre("a", "b"));
}

}  // namespace
}  // namespace brimwatch
