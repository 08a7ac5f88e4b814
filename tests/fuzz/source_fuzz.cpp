// Any bytes as what a source of past days answers, and as a file of daily bars that came packed. The first byte chooses
// the form and where rows and pages are said to be. What comes out is a table of as many rows as it says, and each error
// is one line.
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "adapters/sources/answer.h"
#include "bars/daily_text.h"

namespace {

using namespace brimwatch;

void require(bool good) {
  if (!good) std::abort();
}

void check(const Error& error) { require(!error.text.empty() && error.text.find('\n') == std::string::npos); }

HistorySource source_for(unsigned choice) {
  HistorySource source;
  source.format = choice % 2 == 0 ? "json" : "csv";
  if ((choice & 2) != 0) source.fields.rows = "/results";
  if ((choice & 4) != 0) source.fields.next = "/next";
  if ((choice & 8) != 0) source.fields.close = source.format == "json" ? "/c" : "c", source.fields.date = "/t";
  return source;
}

void read_as_bars(const std::string& text, DailyRows rows) {
  const auto one = parse_daily(text, "KLVN", "answer", rows);
  if (!one) return check(one.error());
  require(std::is_sorted(one->bars.begin(), one->bars.end(),
                         [](const DailyBar& a, const DailyBar& b) { return a.day < b.day; }));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const HistorySource source = source_for(data[0]);
  const auto answer = read_answer({reinterpret_cast<const char*>(data) + 1, size - 1}, source);
  if (!answer) return check(answer.error()), 0;
  if (source.format == "json" && answer->rows > 0) {
    const auto lines = std::count(answer->text.begin(), answer->text.end(), '\n');
    require(static_cast<std::size_t>(lines) == answer->rows + 1);
  }
  read_as_bars(answer->text, DailyRows::readable);
  read_as_bars(answer->text, DailyRows::every);
  if (const auto all = parse_all_daily(answer->text, "", "answer"); !all) check(all.error());
  return 0;
}
