// log_sample FORMAT: a few lines of the log, as a daemon writes them, for tests that read along.
#include "loop/log.h"

int main(int argc, char** argv) {
  using namespace brimwatch;
  Log log("info", argc > 1 ? argv[1] : "text");
  log.say(LogLevel::info, "watching 40 pivots");
  log.say(LogLevel::warning, "feed main: no data for 30 s", {.feed = "main"});
  log.say(LogLevel::error, "channel mail: 550 \"no such user\"\nsecond line \x1f <6>", {.channel = "mail"});
  log.say(LogLevel::info, "KLVN crossed 48.35",
          {.notice = "2026-11-25/KLVN/48.35/crossed/1", .kind = "crossed", .symbol = "KLVN"});
  log.say(LogLevel::debug, "not to be seen");
}
