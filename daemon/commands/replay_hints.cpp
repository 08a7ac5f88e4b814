#include "commands/replay_hints.h"

#include <algorithm>
#include <cctype>
#include <filesystem>

#include "core/text/text.h"
#include "replay/bar_replay.h"
#include "session/calendar.h"
#include "tape/bytes.h"
#include "volume/learning/bar_decoder.h"

namespace brimwatch {
namespace {

constexpr std::size_t kShown = 5;
constexpr std::size_t kBeginning = 64 * 1024;

/// Nothing where it cannot be read: that has been told.
std::string beginning_of(const std::string& path) {
  std::string text;
  auto opened = open_bytes(path);
  if (!opened || opened->kind == RecordingKind::frames) return text;
  std::vector<char> room(4096);
  while (text.size() < kBeginning) {
    const auto got = opened->bytes->read(room);
    if (!got || *got == 0) break;
    text.append(room.data(), *got);
  }
  return text;
}

}  // namespace

std::string unwatched_text(const std::vector<std::string>& names) {
  std::string shown;
  for (std::size_t i = 0; i < std::min(names.size(), kShown); ++i)
    shown += (i > 0 ? ", " : "") + clean_line(names[i], 24);
  if (names.size() > kShown) shown += ", ...";
  const std::string all = std::to_string(names.size()) + (names.size() == 1 ? " symbol" : " symbols");
  return "none of the tape's " + all + " is watched (" + shown + ")";
}

std::vector<std::string> hints_at_rows(const std::vector<std::string>& tapes, const SessionSettings& session, bool utc) {
  std::vector<std::string> hints;
  const auto calendar = Calendar::load(session.calendar, session.calendar_files);
  for (const std::string& path : tapes) {
    std::error_code error;
    if (!calendar || !std::filesystem::is_regular_file(path, error)) continue;
    const std::string text = beginning_of(path);
    if (!looks_like_bars(text)) continue;
    BarFileOptions how;
    how.utc = utc;
    how.prices = true;
    BarDecoder decoder(path, symbol_of_file(path), how, **calendar);
    static_cast<void>(decoder.feed(text));  // what is wrong with a header has been told
    if (!decoder.told().empty()) hints.push_back(decoder.told().front());
    if (std::isdigit(static_cast<unsigned char>(text.front())) != 0)
      hints.push_back(path +
                      ":1:1: the first line looks like data; a tape begins with a header row, such as "
                      "time,symbol,price,size,conditions");
  }
  return hints;
}

}  // namespace brimwatch
