// Any bytes as a calendar: refused in one line, or rules whose sessions are in order and open before they close.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "session/rules.h"
#include "session/rules_toml.h"

namespace {

using namespace brimwatch;

void require(bool good) {
  if (!good) std::abort();
}

void check(const Error& error) { require(!error.text.empty() && error.text.find('\n') == std::string::npos); }

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto rules = parse_calendar(text, "fuzz.toml");
  if (!rules) {
    check(rules.error());
  } else {
    Date before{INT32_MIN};
    for (const LocalSession& session : sessions_of(*rules)) {
      require(session.day > before && session.open < session.close && session.open >= 0 && session.close <= 24 * 60);
      before = session.day;
    }
  }
  CalendarRules mine;
  mine.mic = "XNYS", mine.zone = "America/New_York";
  mine.first_year = 2026, mine.last_year = 2026;
  mine.open = 570, mine.close = 960;
  if (const auto added = add_user_days(text, "fuzz.toml", mine); !added) return check(added.error()), 0;
  for (const LocalSession& session : sessions_of(mine)) require(session.open < session.close);
  return 0;
}
