#pragma once
// What the daemon looks like at one moment: plain data for `brimwatch now`, the status page and the metrics.
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/notice.h"

namespace brimwatch {

struct WatchRow {
  std::string symbol, note;
  std::string list;            ///< the file that it stands in, by its name without folder and ending
  std::optional<Date> report;  ///< the first report date on or after today, where one is known
  Price pivot, range_top, loss_limit;
  Price last, day_high;  ///< 0: no eligible trade yet
  Side side = Side::unknown;
  bool armed = true;
  bool in_force = true;             ///< today is between `from` and `until`
  std::optional<Date> from, until;  ///< first and last day, both included
  Timestamp muted_until;            ///< not set: no time ends a mute
  bool muted_under = false;
  bool added = false;  ///< by an answer, and not in a list of the user's own
  Price bought;        ///< not set: its user does not hold the stock by this watch
  Shares shares;       ///< of those bought; 0: not said
  Timestamp last_time;
  Price last_close;  ///< of the daily bars, while there is no eligible trade yet; 0: none, or too old
  VolumeView volume;
  int history_days = 0;           ///< daily bars that a normal volume can rest on, fifty at the most
  int heard_days = 0;             ///< of those, the ones that the daemon heard itself
  std::string doubts;             ///< in those bars; empty: none
  Price held;                     ///< a price that the print guard holds; 0: none
  std::vector<std::string> mute;  ///< what keeps it from telling, or from telling all; see desk/mute.h
};

struct FeedRow {
  std::string name, kind, state, text;
  bool carrying = false;  ///< this one's ticks go to the engine just now
  bool up = false;        ///< connected, or open
  std::uint64_t ticks = 0, malformed = 0, reconnects = 0;
  double lag_seconds = -1;     ///< received - exchange time of the newest tick; -1 unknown
  double silent_seconds = -1;  ///< since the last tick
  std::string example;         ///< the last message that could not be read, and why
  std::vector<std::pair<std::string, std::uint64_t>> unknown_codes;    ///< sale conditions that are not mapped
  std::vector<std::pair<std::string_view, std::uint64_t>> recognised;  ///< what else was wrong with it, by name
};

struct ChannelRow {
  std::string name, kind, state;
  std::uint64_t delivered = 0, dead = 0, expired = 0, ended_unknown = 0;  ///< deliveries
  std::uint64_t retried = 0, unknown = 0;                                 ///< attempts
  std::uint64_t waiting = 0;
  double oldest_seconds = 0;  ///< age of the oldest that waits or is on its way; 0: none does
  bool in_trouble = false;    ///< it does not get through
  std::string last_reply;
};

/// What became of a notice on one channel so far.
struct SentMark {
  std::string channel;
  std::string_view state;  ///< "pending", "delivered" ...; see core/delivery.h
  std::string reply;
};

/// How far the projection was off on the last day that ended, so many minutes after its open.
struct ProjectionError {
  int minutes = 0;
  int stocks = 0;             ///< that were projected then
  double mean = 0, bias = 0;  ///< of |projected / came - 1| and of projected / came - 1
};

struct RecordingRow {
  bool on = false;
  std::uint64_t ticks = 0, frames = 0;                  ///< kept, since the start
  std::uint64_t dropped_ticks = 0, dropped_frames = 0;  ///< not kept; the recordings have a hole marker in their place
  std::uint64_t bytes = 0;                              ///< of all recordings in the directory, packed
  std::uint64_t removed_files = 0, errors = 0;
  std::string trouble;  ///< the last error, one line; empty when there was none
};

/// The daemon itself, for whoever watches over it: its reloads, log, journal's file and heartbeat since its start.
struct UpkeepRow {
  Timestamp started;          ///< not set: nobody says
  std::uint64_t reloads = 0;  ///< that came into force
  std::uint64_t reloads_refused = 0;
  std::uint64_t log_lines_dropped = 0;
  std::uint64_t journal_bytes = 0;  ///< its file and the log beside it; 0: not measured
  bool has_heartbeat = false;
  std::uint64_t heartbeats = 0, heartbeats_failed = 0;
  bool heartbeat_failing = false;  ///< the last one was not answered well
};

struct SharedMemberRow {
  std::string name, version, feed, trouble;
  bool speaks = false, well = true, same_list = true, same_rules = true;
  std::uint64_t watches = 0;
  std::optional<double> clock_off{};  ///< seconds, where it is more than two off ours: theirs less ours
  std::string direct{};               ///< where it answers directly; empty: nowhere
  std::string answered{};             ///< what it last said there, "speaking"; empty: nothing, or it was not asked
};

/// Several machines with one voice, as this one sees them.
struct SharedRow {
  bool on = false;
  std::string name, house;  ///< of this machine; of all
  std::string role;         ///< "speaking", "standing by" ...
  Timestamp since, speaks_since;
  std::string speaker;              ///< empty: nobody that is known of
  std::string trouble;              ///< of the log that they share; empty: it answers
  double silent_seconds = 0;        ///< since it last answered
  std::size_t answers_waiting = 0;  ///< of people, given alone, that the others do not know yet
  std::vector<SharedMemberRow> members;
  std::vector<std::pair<std::string_view, std::uint64_t>> counters;
};

/// What became of the newest reading of the configuration, at the start or at a reload.
struct ConfigurationRow {
  Timestamp read;                     ///< when
  std::string refused;                ///< why nothing of it is in force, but what was read before; empty: it is in force
  std::vector<std::string> warnings;  ///< of what is in force, as `brimwatch check` says them
};

struct Snapshot {
  Timestamp time;
  bool rehearsal = false;  ///< a past day is played; `time` is that day's
  std::string session;     ///< "open", "before the open", "closed", "break"
  Date day;
  bool half_day = false;
  Timestamp open, close;
  Timestamp next_open;  ///< of the next session, while none has begun; not set past the calendar's years
  Trend trend = Trend::unknown;
  std::vector<WatchRow> watches;
  std::vector<FeedRow> feeds;
  std::vector<ChannelRow> channels;
  RecordingRow recording;
  std::vector<NoticeRecord> latest;                   ///< newest first, at most fifty
  std::map<std::string, std::vector<SentMark>> sent;  ///< of those, by notice id
  std::uint64_t ticks = 0, notices = 0, holes = 0;
  std::vector<std::pair<std::string_view, std::uint64_t>> notices_by_kind;  ///< every kind there is
  std::vector<ProjectionError> projection_errors;                           ///< empty before a day has ended
  std::vector<std::pair<std::string_view, std::uint64_t>> engine;           ///< the engine's counters by name
  SharedRow shared;
  ConfigurationRow configuration;
  UpkeepRow upkeep;
  std::uint64_t journal_waiting = 0, journal_failures = 0;
  std::string journal_trouble;  ///< empty when all is well
  std::string version;
};

}  // namespace brimwatch
