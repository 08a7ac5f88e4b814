#include <algorithm>
#include <map>

#include "adapters/guessing/units/parts.h"

namespace brimwatch {
namespace {

constexpr int kMinutesADay = 24 * 60;

const char* word_for(TimeFormat format) {
  constexpr const char* kWords[] = {"rfc3339", "s", "ms", "us", "ns"};
  return kWords[static_cast<std::size_t>(format)];
}

/// Minutes of the day, as written.
void find_zone(UnitFindings& into) {
  int least = kMinutesADay, most = 0;
  into.each_market([&](const SortGuess& guess) {
    for (const Leaf* leaf : into.values_at(guess, Field::time)) {
      const auto time = time_in(leaf->text, TimeFormat::rfc3339);
      if (!time) continue;
      const int minute = static_cast<int>(time->ns % kDayNanos / kMinute);
      least = std::min(least, minute);
      most = std::max(most, minute);
    }
  });
  constexpr int kOpenInUtc = 13 * 60 + 30, kCloseInNewYork = 16 * 60;
  const bool new_york = least < kOpenInUtc && most < 20 * 60, utc = most >= kCloseInNewYork && least >= kOpenInUtc;
  into.settings().time_zone = utc ? "Etc/UTC" : "America/New_York";
  into.note("time_zone", into.settings().time_zone, Sure::likely,
            new_york ? "times name no zone; as New York's clock they lie in a trading day"
            : utc    ? "times name no zone; as UTC they lie in a trading day"
                     : "times name no zone");
  into.ask("time_zone: the times name no zone; is it " + into.settings().time_zone + "? Compare one with the clock");
}

}  // namespace

void find_times(UnitFindings& into) {
  const MessageKind main = main_kind(into.sorts());
  std::string common;
  std::map<MessageKind, std::string> formats;
  bool zoneless = false;
  into.each_market([&](const SortGuess& guess) {
    PointerColumn column;
    column.cells = into.values_at(guess, Field::time);
    measure(column);
    if (!column.time) return;
    zoneless = zoneless || column.zoneless;
    const std::string word = word_for(*column.time);
    if (guess.kind == main || common.empty()) common = common.empty() ? word : common;
    formats[guess.kind] = word;
  });
  if (formats.count(main) != 0) common = formats[main];
  into.settings().fields.time_format = common;
  if (!common.empty()) into.note("time_format", common, Sure::sure, "no other unit gives times of these years");
  for (const auto& [kind, word] : formats) {
    if (word != common) into.settings().fields_of[std::string(kind_word(kind))].time_format = word;
  }
  if (zoneless) find_zone(into);
}

}  // namespace brimwatch
