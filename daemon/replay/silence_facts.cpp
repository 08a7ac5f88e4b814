#include "replay/silence_facts.h"

#include <algorithm>
#include <filesystem>

#include "desk/desk.h"
#include "engine/eligibility.h"
#include "journal/journal.h"
#include "replay/replay.h"
#include "tape/reader.h"
#include "tape/shelf.h"

namespace brimwatch {
namespace {

constexpr std::size_t kPrintsShown = 5;

/// What keeps the trade from moving a price, whatever came before it; empty: nothing does.
std::string why_uncounted(const Tick& trade, const Watch& watch) {
  const std::string codes =
      trade.conditions.view().empty() ? "" : " (conditions " + std::string(trade.conditions.view()) + ")";
  const std::uint16_t bars = bars_of(trade.conditions, condition_table(watch.tape));
  if (bars & kOddLot) return "an odd lot moves no price" + codes;
  if (bars & kUnknownCode) return "its sale condition is not known" + codes;
  constexpr std::uint16_t kNotOfItself = kNoLast | kLastIfFirst | kLastIfSameMarket | kLastUntilLate;
  if (bars & kNotOfItself)
    return "its sale condition moves no price, as of a trade reported late or out of sequence" + codes;
  if (trade.size < Shares::whole(watch.rules.least_size))
    return "it is smaller than least_size (" + std::to_string(watch.rules.least_size) + ")";
  return {};
}

class Said : public ReplayListener {
 public:
  Said(const Watch& watch, Date day, std::vector<NoticeRecord>& into) : watch_(watch), day_(day), into_(into) {}
  void on_notice(const NoticeRecord& record) override {
    if (record.symbol == watch_.symbol && record.notice.pivot == watch_.pivot && record.notice.day == day_)
      into_.push_back(record);
  }
  void on_progress(std::uint64_t, Timestamp, double) override {}

 private:
  const Watch& watch_;
  Date day_;
  std::vector<NoticeRecord>& into_;
};

class Gatherer {
 public:
  Gatherer(const Watch& watch, const Settings& settings, Date day, const SilenceSources& sources)
      : sources_(sources), facts_{.watch = watch, .settings = settings, .day = day} {}

  Result<SilenceFacts> run() {
    if (const auto known = calendar(); !known) return tl::unexpected(known.error());
    std::error_code none;
    if (std::filesystem::exists(sources_.journal, none)) {
      if (const auto read = journal(); !read) return tl::unexpected(read.error());
    }
    mute();
    tape();
    return std::move(facts_);
  }

 private:
  Status calendar() {
    auto loaded = Calendar::load(facts_.watch.calendar, facts_.settings.session.calendar_files);
    if (!loaded) return fail(loaded.error().text);
    calendar_ = *loaded;
    if (const Session* const session = calendar_->on(facts_.day)) facts_.session = *session;
    facts_.now = sources_.now;
    facts_.is_past = !facts_.session || sources_.now >= facts_.session->close;
    facts_.offset = calendar_->offset(!facts_.session ? sources_.now : facts_.session->open);
    return {};
  }

  void mute() {
    MuteFacts facts{.watch = facts_.watch, .settings = facts_.settings, .day = facts_.day};
    facts.session = facts_.session ? &*facts_.session : nullptr;
    facts.trend = sources_.trend;
    facts.knows_normal = sources_.knows_normal;
    facts_.mute = mute_causes(facts);
  }

  Status journal() {
    auto opened = Journal::open_read_only(sources_.journal);
    if (!opened) return fail(opened.error().text);
    Journal& journal = **opened;
    facts_.journal = sources_.journal;
    NoticeQuery of_day;
    of_day.day = facts_.day, of_day.symbol = facts_.watch.symbol;
    auto told = journal.notices(of_day);
    if (!told) return fail(told.error().text);
    for (NoticeRecord& record : *told) {
      if (record.notice.pivot != facts_.watch.pivot) continue;
      auto rows = journal.deliveries(record.id);
      if (!rows) return fail(rows.error().text);
      facts_.told.push_back({std::move(record), std::move(*rows)});
    }
    if (const auto read = earlier(journal); !read) return read;
    if (const auto read = answers(journal); !read) return read;
    return holes(journal);
  }

  /// Its last crossing before the day, and where it stood when the day began. Those of long ago are not kept: no error.
  Status earlier(Journal& journal) {
    NoticeQuery query;
    query.to = facts_.day + (-1), query.symbol = facts_.watch.symbol;
    query.kinds = {NoticeKind::crossed, NoticeKind::opened_over};
    auto before = journal.notices(query);
    if (!before) return fail(before.error().text);
    for (NoticeRecord& record : *before)
      if (record.notice.pivot == facts_.watch.pivot) facts_.before = std::move(record);
    if (const auto states = journal.watch_states(facts_.day)) {
      for (const WatchState& state : *states)
        if (state.symbol == facts_.watch.symbol && state.pivot == facts_.watch.pivot) facts_.stood = state;
    }
    return {};
  }

  /// Those of the day, and of the days before the last that mutes or drops, where nothing has undone it.
  Status answers(Journal& journal) {
    auto all = journal.answers(std::nullopt, facts_.day);
    if (!all) return fail(all.error().text);
    heard_ = *all;
    std::optional<Answer> lasting;
    for (const Answer& one : *all) {
      if (one.symbol != facts_.watch.symbol || (one.pivot.is_set() && one.pivot != facts_.watch.pivot)) continue;
      if (one.day == facts_.day) {
        facts_.answers.push_back(one);
      } else if (one.kind == AnswerKind::mute || one.kind == AnswerKind::drop) {
        lasting = one;
      } else if (one.kind == AnswerKind::unmute || one.kind == AnswerKind::add) {
        lasting.reset();
      }
    }
    const bool lasts = lasting && (lasting->kind == AnswerKind::drop || lasting->under_pivot ||
                                   (facts_.session && lasting->until > facts_.session->open));
    if (lasts) facts_.answers.insert(facts_.answers.begin(), *lasting);
    return {};
  }

  Status holes(Journal& journal) {
    if (!facts_.session) return {};
    auto all = journal.holes(facts_.session->open, facts_.session->close);
    if (!all) return fail(all.error().text);
    for (Hole& hole : *all)
      if (hole.symbol.empty() || hole.symbol == facts_.watch.symbol) facts_.holes.push_back(std::move(hole));
    return {};
  }

  void tape() {
    TapeFacts& tape = facts_.tape;
    tape.files = sources_.tapes.empty() ? tapes_of(facts_.settings, facts_.day) : sources_.tapes;
    if (tape.files.empty() || !facts_.session) return;
    replay_day();
    const Timestamp crossed = tape.said.empty() ? facts_.session->close : tape.said.front().notice.time;
    for (const std::string& file : tape.files) read_prints(file, crossed);
    // What the print guard left out is no price, nor is what counts for the day's high alone.
    if (day_high_.is_set()) tape.high = std::min(tape.high, day_high_);
  }

  /// The engine with this one stock, from where it stood.
  void replay_day() {
    Settings only = facts_.settings;
    only.watches = WatchList{facts_.watch};
    only.given = nullptr;
    auto desk = Desk::open(std::move(only));
    if (!desk) return void(facts_.tape.trouble = desk.error().text);
    if (facts_.stood) (*desk)->engine().restore(std::span(&*facts_.stood, 1), {});
    Said said(facts_.watch, facts_.day, facts_.tape.said);
    ReplayOptions options;
    options.tapes = facts_.tape.files;
    options.answers = heard_;
    options.from = facts_.session->open - kDayNanos / 4, options.to = facts_.session->close + kHour;
    const auto done = replay(**desk, options, said);
    if (!done) return void(facts_.tape.trouble = done.error().text);
    const WatchView view = (*desk)->engine().view(0, facts_.session->close);
    day_high_ = view.day_high;
    facts_.tape.crossings = view.crossings;
  }

  void read_prints(const std::string& file, Timestamp crossed) {
    SymbolTable symbols;
    const SymbolId wanted = symbols.intern(facts_.watch.symbol);
    auto reader = TapeReader::open(file, symbols);
    if (!reader) return;  // minute bars: no single trades; what else is wrong the replay has told
    while (true) {
      const auto ticks = (*reader)->next();
      if (!ticks || ticks->empty()) return;
      for (const Tick& tick : *ticks)
        if (tick.symbol == wanted && tick.kind == TickKind::trade && facts_.session->is_open(tick.time))
          take(tick, crossed);
    }
  }

  void take(const Tick& trade, Timestamp crossed) {
    TapeFacts& tape = facts_.tape;
    if (tape.trades++ == 0) tape.first = trade.time;
    tape.last = trade.time;
    std::string why = why_uncounted(trade, facts_.watch);
    if (why.empty()) return void(tape.high = std::max(tape.high, trade.price));
    if (trade.price < facts_.watch.pivot || trade.time >= crossed) return;
    if (++tape.uncounted_count <= kPrintsShown) tape.uncounted.push_back({trade, std::move(why)});
  }

  const SilenceSources& sources_;
  SilenceFacts facts_;
  std::shared_ptr<const Calendar> calendar_;
  std::vector<Answer> heard_;
  Price day_high_;  ///< by the engine
};

}  // namespace

std::vector<std::string> tapes_of(const Settings& settings, Date day) {
  std::vector<std::string> out;
  std::error_code none;
  const RecordSettings& record = settings.record;
  if (!record.directory.empty() && std::filesystem::is_directory(record.directory, none)) {
    if (const auto shelf = Shelf::open(record.directory, record.bytes_most)) {
      for (const Recording& one : shelf->recordings())
        if (one.day == day && one.kind == RecordingKind::ticks) out.push_back(one.path);
    }
  }
  if (!out.empty()) return out;
  for (const FeedSettings& feed : settings.feeds)
    if (feed.enabled && feed.kind == "tape" && std::filesystem::exists(feed.file, none)) out.push_back(feed.file);
  return out;
}

Result<SilenceFacts> gather_silence(const Watch& watch, const Settings& settings, Date day,
                                    const SilenceSources& sources) {
  return Gatherer(watch, settings, day, sources).run();
}

}  // namespace brimwatch
