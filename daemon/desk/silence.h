#pragma once
// Why a watch said nothing on a day, or would say nothing: from what the journal knows, what the tape shows and what
// stands in its way now. Pure: whoever asks gathers the facts (replay/silence_facts.h).
#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/answer.h"
#include "core/delivery.h"
#include "core/notice.h"
#include "core/state.h"
#include "desk/mute.h"
#include "engine/engine.h"

namespace brimwatch {

/// A trade at or above the pivot that moved no price, and why not: "an odd lot".
struct UncountedPrint {
  Tick trade;
  std::string why;
};

/// What the day's tape shows of one watch.
struct TapeFacts {
  std::vector<std::string> files;         ///< those that were read; empty: there is no tape of that day
  std::uint64_t trades = 0;               ///< of the symbol, in regular hours
  Timestamp first, last;                  ///< of those
  Price high;                             ///< highest that counted; 0: none did
  std::vector<UncountedPrint> uncounted;  ///< before the first crossing, the first few
  std::uint64_t uncounted_count = 0;      ///< all of them
  std::vector<NoticeRecord> said;         ///< what the engine says on that tape, the answers of the day heard
  std::uint16_t crossings = 0;            ///< of the day, told or not
  std::string trouble;                    ///< why it could not be read; empty: it could
};

struct ToldNotice {
  NoticeRecord record;
  std::vector<DeliveryRow> deliveries;
};

struct SilenceFacts {
  const Watch& watch;
  const Settings& settings;
  Date day;
  std::optional<Session> session{};  ///< of that day; none: the exchange is closed
  Timestamp now{};
  std::chrono::seconds offset{};         ///< of exchange time from UTC on that day
  std::vector<MuteCause> mute{};         ///< by the configuration and the market, on that day
  bool is_past = false;                  ///< the day is over
  std::string journal{};                 ///< file; empty: there is none
  std::vector<ToldNotice> told{};        ///< of the watch and day, in order; also those kept in the journal only
  std::optional<NoticeRecord> before{};  ///< its last crossing on an earlier day
  std::optional<WatchState> stood{};     ///< where it stood before the day
  std::vector<Answer> answers{};         ///< that bear on it: of that day, and the last mute or drop before
  std::vector<Hole> holes{};             ///< of the session: of all symbols, or this one
  TapeFacts tape{};
};

/// One cause. `word` is for programs: see config/check.schema.json.
struct SilenceCause {
  std::string_view word;
  Timestamp at{}, to{};                                        ///< not set: at no one time
  std::string what;                                            ///< a sentence without its full stop
  std::string to_do{};                                         ///< what one can do about it; empty: nothing
  std::vector<std::pair<std::string_view, double>> numbers{};  ///< by name
};

struct Silence {
  std::string_view verdict;          ///< "told", "kept", "crossed", "not-crossed", "not-yet", "not-known"
  std::string summary;               ///< the same as a sentence
  std::vector<SilenceCause> causes;  ///< in the order of their times; those of no time first
};

[[nodiscard]] Silence silence_of(const SilenceFacts& facts);

/// For people, lines of at most 80 columns.
[[nodiscard]] std::string silence_text(const Silence& silence, const SilenceFacts& facts);
/// One JSON object and a line end.
[[nodiscard]] std::string silence_json(const Silence& silence, const SilenceFacts& facts);

}  // namespace brimwatch
