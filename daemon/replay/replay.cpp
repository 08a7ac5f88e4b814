#include "replay/replay.h"

#include <algorithm>
#include <filesystem>
#include <thread>
#include <utility>

#include "answers/lists.h"
#include "desk/answered_desk.h"
#include "desk/day_view.h"
#include "desk/late_start.h"
#include "desk/notice_collector.h"
#include "journal/journal.h"
#include "loop/clock.h"
#include "replay/frame_replay.h"
#include "tape/bytes.h"
#include "tape/reader.h"
#include "tape/ticks_ahead.h"

namespace brimwatch {
namespace {

/// A tape that ends this close to the end of the session is taken to hold the whole of it.
constexpr Nanos kWholeDay = 15 * kMinute;
constexpr Nanos kAfterClose = 10 * kMinute;

/// How much of all tapes' bytes has been read. Not known when one of them is no regular file.
class ReadShare {
 public:
  explicit ReadShare(const std::vector<std::string>& tapes) {
    for (const std::string& tape : tapes) {
      std::error_code error;
      const auto size = std::filesystem::file_size(tape, error);
      known_ = known_ && !error;
      all_ += error ? 0 : size;
    }
  }
  void begin(const OpenedBytes& tape) {
    before_ += here_;
    here_ = tape.file_bytes;
    taken_ = tape.taken;
  }
  [[nodiscard]] double share() const {
    if (!known_ || all_ == 0 || taken_ == nullptr) return -1;
    return static_cast<double>(before_ + taken_->load(std::memory_order_relaxed)) / static_cast<double>(all_);
  }

 private:
  bool known_ = true;
  std::uint64_t all_ = 0, before_ = 0, here_ = 0;
  std::shared_ptr<const std::atomic<std::uint64_t>> taken_;
};

class Replay {
 public:
  Replay(Desk& desk, const ReplayOptions& options, ReplayListener& listener)
      : desk_(desk),
        options_(options),
        listener_(listener),
        collector_(desk),
        read_(options.tapes),
        watched_(desk.symbols().size()) {}

  Result<ReplaySummary> run() {
    const Nanos started = steady_now();
    std::vector<std::string> bars;
    for (const std::string& tape : options_.tapes) {
      const auto is_bars = holds_bars(tape);
      if (!is_bars) return fail(is_bars.error().text);
      if (*is_bars) bars.push_back(tape);
    }
    bool bars_played = false;
    for (const std::string& tape : options_.tapes) {
      const bool is_bars = std::find(bars.begin(), bars.end(), tape) != bars.end();
      if (is_bars && std::exchange(bars_played, true)) continue;
      if (const auto played = is_bars ? play_bars(bars) : play(tape); !played) return fail(played.error().text);
    }
    finish_last_day();
    if (const auto kept = keep(true); !kept) return fail(kept.error().text);
    summary_.seconds = static_cast<double>(steady_now() - started) / 1e9;
    summary_.counters = desk_.engine().counters();
    summary_.unwatched = all_unwatched();
    return summary_;
  }

 private:
  Status play(const std::string& path) {
    auto bytes = open_bytes(path);
    if (!bytes) return fail(bytes.error().text);
    read_.begin(*bytes);
    if (bytes->kind == RecordingKind::frames) return play_frames(path, std::move(*bytes));
    TapeOptions how;
    how.from = options_.from;
    how.to = options_.to;
    how.most_bad_share = options_.most_bad_share;
    if (options_.read_ahead && bytes->regular_file) {
      return play_rows(path, TicksAhead::open(std::move(*bytes), desk_.symbols(), how));
    }
    return play_rows(path, TapeReader::open(std::move(*bytes), desk_.symbols(), how));
  }

  template <typename Reader>
  Status play_rows(const std::string& path, const Result<std::unique_ptr<Reader>>& reader) {
    if (!reader) return fail(reader.error().text);
    if (const auto taken = take_all(path, **reader); !taken) return taken;
    note_stats(path, (*reader)->stats());
    return {};
  }

  /// Only files are looked into: what comes through a pipe cannot be read twice, and is a tape.
  static Result<bool> holds_bars(const std::string& path) {
    std::error_code error;
    if (path == "-" || !std::filesystem::is_regular_file(path, error)) return false;
    auto bytes = open_bytes(path);
    if (!bytes) return tl::unexpected(bytes.error());
    if (bytes->kind == RecordingKind::frames) return false;
    std::string start;
    while (start.size() < 4096 && start.find('\n') == std::string::npos) {
      std::vector<char> room(4096);
      const auto got = bytes->bytes->read(room);
      if (!got) return tl::unexpected(got.error());
      if (*got == 0) break;
      start.append(room.data(), *got);
    }
    return looks_like_bars(start);
  }

  Status play_bars(const std::vector<std::string>& paths) {
    BarReplayOptions how = options_.bars;
    how.from = options_.from;
    how.to = options_.to;
    auto reader = BarReplay::open(paths, how, desk_.main_calendar(), desk_.symbols());
    if (!reader) return fail(reader.error().text);
    const std::uint64_t bad = (*reader)->malformed(), rows = (*reader)->rows();
    if (static_cast<double>(bad) > options_.most_bad_share * static_cast<double>(std::max<std::uint64_t>(rows, 100))) {
      return fail(paths.front() + ": " + std::to_string(bad) + " of " + std::to_string(rows) +
                  " rows of bars could not be read; nothing was replayed");
    }
    summary_.remarks.insert(summary_.remarks.end(), (*reader)->remarks().begin(), (*reader)->remarks().end());
    has_begun_ = true;  // a minute without a bar is one without a trade
    if (const auto taken = take_all(paths.front(), **reader); !taken) return taken;
    summary_.ticks += (*reader)->ticks();
    summary_.rows += rows;
    summary_.malformed += bad;
    return {};
  }

  Status play_frames(const std::string& path, OpenedBytes bytes) {
    auto reader = FrameReplay::open(
        std::move(bytes), desk_.settings().feeds, desk_.symbols(),
        [calendar = desk_.main_calendar_shared()](Timestamp time) {
          const Session* session = calendar->of(time);
          return session != nullptr && session->is_open(time);
        },
        [this](SymbolId symbol, Timestamp time, Timestamp now) { return desk_.past_day(symbol, time, now); });
    if (!reader) return fail(reader.error().text);
    if (const auto taken = take_all(path, **reader); !taken) return taken;
    summary_.ticks += (*reader)->ticks();
    summary_.malformed += (*reader)->malformed();
    for (const std::string& remark : (*reader)->remarks()) summary_.remarks.push_back(path + ": " + remark);
    return {};
  }

  template <typename Reader>
  Status take_all(const std::string& path, Reader& reader) {
    bool first = true;
    while (true) {
      const auto ticks = reader.next();
      if (!ticks) return fail(ticks.error().text);
      if (ticks->empty()) return {};
      if (std::exchange(first, false) && ticks->front().time < last_) {
        summary_.remarks.push_back(path +
                                   ": begins before the tape before it ends, and what lies before that end is past for "
                                   "the engine; name tapes in the order of time, or merge those of one day");
      }
      if (const auto taken = take(*ticks); !taken) return taken;
    }
  }

  void note_stats(const std::string& tape, const TapeStats& stats) {
    summary_.ticks += stats.ticks;
    summary_.rows += stats.rows;
    summary_.malformed += stats.malformed;
    for (const std::string& told : stats.told) summary_.remarks.push_back(told);
    if (stats.malformed > stats.told.size()) {
      summary_.remarks.push_back(tape + ": " + std::to_string(stats.malformed - stats.told.size()) +
                                 " more rows could not be read and were left out");
    }
    for (const std::string& column : stats.ignored_columns)
      summary_.remarks.push_back(tape + ": column \"" + column + "\" is not known and was left out");
    if (stats.torn)
      summary_.remarks.push_back(tape + ": the writer stopped in the middle; what was written before is in the replay");
  }

  Status take(std::span<const Tick> ticks) {
    if (!started_) {
      if (const auto begun = begin(ticks.front()); !begun) return begun;
    }
    if (options_.from_minute || options_.to_minute) ticks = only_wanted_minutes(ticks);
    while (!ticks.empty()) {
      const std::size_t count = same_day(ticks);
      if (!std::exchange(has_begun_, true)) fill_hole_of_start(ticks.front());
      const auto part = ticks.first(count);
      ticks = ticks.subspan(count);
      if (const auto done = options_.speed > 0 ? paced(part) : by_minutes(part); !done) return done;
    }
    return {};
  }

  /// State from before the tape's first day, so that a replay that was interrupted ends as if it had not been.
  Status begin(const Tick& first) {
    started_ = true;
    if (!options_.answers.empty()) {
      if (const auto begun = begin_with_answers(first); !begun) return begun;
    }
    const Date day = desk_.main_calendar().local_date(first.time);
    if (options_.journal.empty()) return {};
    auto journal = Journal::open(options_.journal);
    if (!journal) return fail(journal.error().text);
    journal_ = std::move(*journal);
    const auto watches = journal_->watch_states(day);
    const auto symbols = journal_->symbol_states(day);
    if (!watches) return fail(watches.error().text);
    if (!symbols) return fail(symbols.error().text);
    desk_.engine().restore(*watches, *symbols);
    return {};
  }

  /// Those given before the tape's first tick are known when it begins; a mute of them may still last.
  Status begin_with_answers(const Tick& first) {
    AnswerBook book;
    while (next_answer_ < options_.answers.size() && options_.answers[next_answer_].time <= first.time)
      book.take(options_.answers[next_answer_++]);
    if (const auto laid = lay(book); !laid) return laid;
    answered_.begin_with(std::move(book), desk_.main_calendar().local_date(first.time));
    for (std::size_t i = 0; i < next_answer_; ++i) {
      const Answer& one = options_.answers[i];
      if (one.kind == AnswerKind::mute || one.kind == AnswerKind::unmute)
        (void)desk_.engine().mute(one.symbol, one.pivot, one.until, one.under_pivot);
    }
    return {};
  }

  Status lay(const AnswerBook& book) {
    Settings settings = desk_.settings();
    lay_over(settings, book);
    return desk_.apply(std::move(settings));
  }

  /// It was in force from its time on: before the first tick that is not older.
  Status hear(const Answer& answer, Date today) {
    AnswerBook next = answered_.book();
    next.take(answer);
    const bool is_gone = answer.kind == AnswerKind::sold && next.holding(answer.symbol) == nullptr &&
                         only_held(desk_.settings(), next, {answer.symbol, answer.pivot});
    const bool lists = answer.kind == AnswerKind::add || answer.kind == AnswerKind::drop || is_gone;
    if (lists) {
      if (const auto laid = lay(next); !laid) return laid;
      desk_.begin_day(today);
    }
    answered_.take(answer, today);
    if (lists) answered_.hold_stocks(today);
    return {};
  }

  /// The ticks up to the next answer, the answer, and so on.
  Status with_answers(std::span<const Tick> ticks) {
    while (!ticks.empty() && next_answer_ < options_.answers.size()) {
      const Answer& answer = options_.answers[next_answer_];
      const auto after =
          std::find_if(ticks.begin(), ticks.end(), [&](const Tick& tick) { return tick.time >= answer.time; });
      if (after == ticks.end()) break;
      const auto count = static_cast<std::size_t>(after - ticks.begin());
      desk_.engine().on_ticks(ticks.first(count), collector_);
      ticks = ticks.subspan(count);
      ++next_answer_;
      if (const auto heard = hear(answer, desk_.main_calendar().local_date(answer.time)); !heard) return heard;
    }
    desk_.engine().on_ticks(ticks, collector_);
    return {};
  }

  /// As the daemon does that begins in mid-session, so that a recording of it says the same.
  void fill_hole_of_start(const Tick& first) {
    if (const auto hole = missed_since_open(first, desk_.main_calendar()))
      desk_.engine().on_ticks({&*hole, 1}, collector_);
  }

  std::span<const Tick> only_wanted_minutes(std::span<const Tick> ticks) {
    kept_.clear();
    for (const Tick& tick : ticks) {
      const Nanos local = tick.time.ns + desk_.main_calendar().offset(tick.time).count() * kSecond;
      const auto minute = static_cast<int>(local % kDayNanos / kMinute);
      if (minute >= options_.from_minute.value_or(0) && minute < options_.to_minute.value_or(24 * 60))
        kept_.push_back(tick);
    }
    return kept_;
  }

  /// How many of the first ticks belong to one day; tells the desk when a new one begins.
  std::size_t same_day(std::span<const Tick> ticks) {
    const auto is_new = [&](const Tick& tick) { return tick.time < day_start_ || tick.time >= day_end_; };
    if (is_new(ticks.front())) {
      const Calendar& calendar = desk_.main_calendar();
      const Date day = calendar.local_date(ticks.front().time);
      const Timestamp midnight{day.days * kDayNanos - calendar.offset(ticks.front().time).count() * kSecond};
      day_start_ = midnight;
      day_end_ = midnight + kDayNanos;
      desk_.begin_day(day);
      answered_.hold_stocks(day);
      if (!summary_.first_day) summary_.first_day = day;
      summary_.days += summary_.last_day != day;
      summary_.last_day = day;
    }
    const auto next = std::find_if(ticks.begin(), ticks.end(), is_new);
    return static_cast<std::size_t>(next - ticks.begin());
  }

  /// Where pictures are wanted, minute by minute, so that the book of the day sees each.
  Status by_minutes(std::span<const Tick> ticks) {
    if (options_.book == nullptr) return at_once(ticks);
    while (!ticks.empty()) {
      const std::int64_t minute = ticks.front().time.ns / kMinute;
      const auto next = std::find_if(ticks.begin(), ticks.end(),
                                     [minute](const Tick& tick) { return tick.time.ns / kMinute != minute; });
      const auto count = static_cast<std::size_t>(next - ticks.begin());
      if (const auto done = at_once(ticks.first(count)); !done) return done;
      ticks = ticks.subspan(count);
    }
    return {};
  }

  Status at_once(std::span<const Tick> ticks) {
    if (const auto heard = with_answers(ticks); !heard) return heard;
    if (options_.book != nullptr) look_at_day(desk_, ticks.back().time, *options_.book);
    last_ = std::max(last_, ticks.back().time);
    seen_ += ticks.size();
    listener_.on_progress(seen_, last_, read_.share());
    return keep(false);
  }

  /// Waits before each tick as long as the tape did, divided by the speed.
  Status paced(std::span<const Tick> ticks) {
    for (const Tick& tick : ticks) {
      if (wall_start_ == 0) {
        wall_start_ = steady_now();
        tape_start_ = tick.time;
      }
      const auto due = wall_start_ + static_cast<Nanos>(static_cast<double>(tick.time - tape_start_) / options_.speed);
      if (const Nanos wait = due - steady_now(); wait > 0) std::this_thread::sleep_for(std::chrono::nanoseconds(wait));
      if (const auto done = at_once({&tick, 1}); !done) return done;
    }
    return {};
  }

  /// Names that the tapes brought; none where something was seen of a symbol that is watched, or where nothing was
  /// traded by the calendar.
  std::vector<std::string> all_unwatched() const {
    std::vector<std::string> names;
    const EngineCounters& seen = summary_.counters;
    if (seen.eligible + seen.volume_only + seen.held_as_bad + seen.out_of_order + seen.duplicates > 0) return names;
    if (!summary_.first_day || desk_.main_calendar().on(*summary_.first_day) == nullptr) return names;
    const SymbolTable& symbols = desk_.symbols();
    for (std::size_t i = watched_; i < symbols.size(); ++i) names.emplace_back(symbols.name(static_cast<SymbolId>(i)));
    return names;
  }

  void finish_last_day() {
    if (!last_.is_set()) return;
    const Session* session = desk_.main_calendar().of(last_);
    if (session == nullptr) return;
    if (last_ >= session->close - kWholeDay) {
      desk_.engine().on_time(session->close + kAfterClose, collector_);
    } else {
      const Calendar& calendar = desk_.main_calendar();
      summary_.remarks.push_back("the tape ends at " + to_clock(last_, calendar.offset(last_)) +
                                 ", before the close at " + to_clock(session->close, calendar.offset(last_)) +
                                 "; no day-end notices");
    }
  }

  /// Commits, then shows: nothing is shown that is not durable. State goes with the end of the tape, since an interrupted
  /// replay starts over from the day's beginning.
  Status keep(bool at_end) {
    JournalBatch& batch = collector_.batch;
    if (journal_ != nullptr) {
      if (at_end) desk_.engine().take_changed(batch.watches, batch.symbols);
      if (!batch.empty()) {
        if (const auto written = journal_->commit(batch); !written) return written;
      }
    }
    if (options_.book != nullptr) note_in_day(desk_, batch, *options_.book);
    for (const NoticeRecord& record : batch.notices) listener_.on_notice(record);
    summary_.notices += batch.notices.size();
    batch = {};
    return {};
  }

  Desk& desk_;
  const ReplayOptions& options_;
  ReplayListener& listener_;
  NoticeCollector collector_;
  AnsweredDesk answered_{desk_};
  std::size_t next_answer_ = 0;  ///< of options_.answers
  ReadShare read_;
  const std::size_t watched_;  ///< symbols that were known before any tape
  ReplaySummary summary_;
  std::unique_ptr<Journal> journal_;
  std::vector<Tick> kept_;
  bool started_ = false, has_begun_ = false;
  std::uint64_t seen_ = 0;
  Timestamp last_, day_start_, day_end_, tape_start_;
  Nanos wall_start_ = 0;
};

}  // namespace

Result<ReplaySummary> replay(Desk& desk, const ReplayOptions& options, ReplayListener& listener) {
  return Replay(desk, options, listener).run();
}

}  // namespace brimwatch
