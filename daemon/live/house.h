#pragma once
// The daemon without its sockets, processes, threads and clocks: feeds in, engine, journal, channels out, and all that
// keeps it honest. It takes its world as arguments, so that a simulation can be the world.
//
// One thread: everything below is called on the loop's. Order: open(), restore() or do_without(), start(), then
// on_beat() four times a second; recover() when a journal that could not be used can; the end is Ending's (ending.h). Its
// stage (stage.h) decides what is still heard.
#include <array>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <string>

#include "answers/request.h"
#include "core/log_sink.h"
#include "core/snapshot.h"
#include "desk/answered_desk.h"
#include "desk/changed_states.h"
#include "desk/day_view.h"
#include "desk/desk.h"
#include "desk/notice_collector.h"
#include "desk/ready_desk.h"
#include "journal/keeper.h"
#include "live/channel_set.h"
#include "live/evening_clock.h"
#include "live/evening_lessons.h"
#include "live/feed_clock.h"
#include "live/feed_set.h"
#include "live/journal_outbox.h"
#include "live/own_notices.h"
#include "live/projection_errors.h"
#include "live/restored_state.h"
#include "live/resumption.h"
#include "live/stage.h"

namespace brimwatch {

/// The house's queries of the journal. Answers come back on the loop's thread.
class Records {
 public:
  virtual ~Records() = default;
  /// `answer` only when it was written.
  virtual void acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) = 0;
  /// Ids acknowledged since the last call, by whichever process.
  virtual void new_acknowledgements(std::function<void(std::vector<std::string>)> answer) = 0;
};

struct HouseWorld {
  std::function<Timestamp()> wall;
  std::function<Nanos()> steady;
  std::function<void(std::function<void()>)> post;  ///< later, on the loop's thread; called from any
  LogSink say;                                      ///< writes a log line
  LogSink trouble;                                  ///< writes a log line that may recur often
  std::function<Result<std::unique_ptr<Feed>>(const FeedSettings&)> make_feed;
  std::function<Result<std::unique_ptr<MessageRunner>>(const ChannelSettings&, MessageRunner::Done)> make_runner;
  std::function<void(LearnedBySymbol, std::string file)> save_lessons;
  /// Makes the review of that day elsewhere and answers on the loop's thread, or not at all; may be empty.
  std::function<void(Date, Timestamp now, std::function<void(NoticeRecord)> answer)> make_review;
  std::function<void(std::span<const Tick>)> record_ticks;  ///< may be empty, as may the next three
  std::function<void(std::string_view feed, Timestamp, std::string_view bytes)> record_frame;
  std::function<void(std::string_view feed, Timestamp, bool up, std::string_view why)> record_connection;
  std::function<RecordingRow()> recording;
  /// Days that the feed carried whole, for a file of our own; may be empty.
  std::function<void(std::vector<std::pair<std::string, DailyBar>>)> keep_days;
  std::function<void(const std::string& notice_id, DayPicture)> keep_picture;  ///< for its mails; may be empty
  /// Lays settings out on another thread; answers on the loop's, once. Empty: at once, here.
  std::function<void(Settings, std::function<void(ReadyDesk)>)> prepare;
  std::function<void(const Answer&)> on_answer;       ///< one is in force; may be empty, as may the next
  std::function<void(const std::string&)> keep_list;  ///< what was added and dropped, as a file for people
  std::function<void(const std::string& why)> end;    ///< the house has nothing more to do
  std::uint64_t seed = 0;                             ///< of all jitter
  ChangedStates::Sizes states{};                      ///< of batches for the journal
  /// One of several machines: it says nothing until speak(), and with `feed_at_takeover` hears nothing until then either.
  bool stands_by = false, feed_at_takeover = false;
  /// Of several machines: an answer that was decided here goes to all of them first. It comes back by take_answers()
  /// before `then`, which gets why not where it does not. May be empty.
  std::function<void(const Answer&, std::function<void(Status)> then)> share;
  std::function<SharedRow()> shared;  ///< may be empty
};

/// An answer that is in force and kept, and what is said to whoever asked.
struct AnswerDone {
  Answer answer;
  std::string words;
};
using AnswerReply = std::function<void(Result<AnswerDone>)>;

class House {
 public:
  /// Makes channels and feeds; one that cannot be made is an error. The feeds wait for start(). Keeper and records
  /// outlive the house's use of them.
  [[nodiscard]] static Result<std::unique_ptr<House>> open(HouseWorld world, std::unique_ptr<Desk> desk);
  House(const House&) = delete;
  House& operator=(const House&) = delete;

  /// What the journal knows, before start().
  void restore(RestoredState kept);
  /// The journal could not be opened or read: notices are told all the same, and once that they are not kept.
  void do_without(const std::string& trouble);
  void start(BatchKeeper& keeper, Records& records);
  /// The journal that could not be used has been read after all, before anything of this run was written to it: what was
  /// open is taken up, and of stocks that have not traded since, where they stood.
  void recover(RestoredState kept);
  void on_beat();

  /// From the keeper, posted.
  void on_written(std::vector<NoticeRecord> written, bool durable) { keeping_.on_written(std::move(written), durable); }
  /// The journal was moved away or replaced, and another is in use now: it gets all that the engine knows.
  void on_other_journal();
  void on_journal(const std::string& trouble) { keeping_.on_journal(trouble); }  ///< empty: it works again

  /// By another member, or by an answer here: told to whoever keeps the records.
  void acknowledge(const std::string& notice_id);
  /// By which every answer of a person enters, whatever way it came. `reply` once it is in force and durable, or with the
  /// one line why nothing was changed.
  void answer(const AnswerRequest& request, AnswerReply reply);
  /// One that has been decided: the same from there on.
  void take_answer(Answer answer, AnswerReply reply);
  /// From the log that several machines share, in the order in which they take effect. One that is known takes effect
  /// anew where one that is new here, and of the same stock, stands before it.
  void take_answers(std::vector<Answer> answers);
  /// One that is known, and stands behind all others now.
  void take_again(const Answer& answer);
  /// The sides and mutes of that watch came from another machine, which may not have known this mute.
  void mute_again(const Answer& answer) { answered_.mute_again(answer), dirty_ = true; }
  [[nodiscard]] const AnswerBook& answers() const { return answered_.book(); }
  /// Grows when what the answers make of the lists changes: a configuration is laid out for one state of it.
  [[nodiscard]] std::uint64_t lists() const { return lists_; }
  /// One of a channel's recipients has these notices, while others are still asked.
  void on_taken(const std::string& channel, const std::vector<std::string>& notice_ids, const std::string& recipient) {
    if (stage_.listens()) out_.on_taken(channel, notice_ids, recipient);
  }
  /// What the crossings of the months before have taught, for the days to come.
  void take_own_lifts(OwnLifts lifts);
  /// All or nothing: puts a new configuration in force, or says why not and leaves the old one. True when it is in force.
  bool apply(ReadyDesk ready);
  /// Why the last one was refused; empty: it was taken.
  [[nodiscard]] const std::string& refusal() const { return configuration_.refused; }
  /// Of what was read before the start: told already, and shown from now on.
  void note_warnings(std::vector<std::string> warnings) { configuration_.warnings = std::move(warnings); }
  /// A new configuration that does not come into force: it is told, and the old one stays.
  void refuse(const std::vector<Problem>& problems, const std::string& why);
  /// Grows with every configuration, list and past that comes into force.
  [[nodiscard]] std::uint64_t applied() const { return applied_; }
  /// The same settings with newer past days. `of`: applied() when they were copied. False, and nothing is changed, where
  /// others have come into force since, where they could not be read, or at the end.
  bool renew(ReadyDesk ready, std::uint64_t of);
  /// Which past days could not be fetched, for the morning's line; empty: none.
  void note_history(std::string trouble) { history_trouble_ = std::move(trouble); }

  // One of several machines; see shared/shared_keeper.h. Sides and counts of the one that speaks:
  void adopt(const std::vector<WatchState>& watches);
  /// What another machine has said: it is shown here, and counts go on after it.
  void hear(const std::vector<NoticeRecord>& notices);
  /// From now on it speaks, or goes on speaking; these deliveries are still open.
  void speak(std::vector<OpenDelivery> open);
  /// Begins nothing more; waiting notices are another machine's to send.
  void stand_by();
  /// What it told under that id has another now: the id is another machine's notice.
  void give_up_number(const std::string& notice_id) { out_.forget(notice_id); }
  /// Where a feed begins only now: how each stock's day stood when it was last shared.
  void begin_feed(const std::vector<SymbolState>& symbols);
  [[nodiscard]] bool speaks() const { return speaks_; }
  [[nodiscard]] bool has_feed() const { return in_.size() > 0; }  ///< there is a connection, or it is tried for
  /// Of several machines: what the journal knew when it was read, at the start or at last.
  [[nodiscard]] JournalMemory take_memory() { return std::exchange(memory_, {}); }
  void tell_taken_over(const std::string& detail);

  /// A self-check notice to the user.
  void tell_self_check(const std::string& detail);

  [[nodiscard]] Stage stage() const { return stage_.now(); }
  [[nodiscard]] Snapshot snapshot() const;  ///< from start() on
  [[nodiscard]] std::string ready_line() const;
  /// Grows with everything the engine has done; the watchdog relies on it.
  [[nodiscard]] std::uint64_t progress() const { return progress_; }
  /// Notices are kept, and while the exchange trades some feed gives.
  [[nodiscard]] bool is_well() const { return unwell().empty(); }
  /// What is wrong with it, to come after its name ("hears no quotes"); empty: nothing.
  [[nodiscard]] std::string unwell() const;
  /// Since a feed last brought something.
  [[nodiscard]] Nanos unheard() const { return world_.steady() - heard_at_; }
  [[nodiscard]] std::chrono::seconds offset() const;  ///< of exchange time from UTC now
  /// The engine's time (feed_clock.h); before the first tick, wall time.
  [[nodiscard]] Timestamp engine_now() const;
  [[nodiscard]] Timestamp started() const;
  [[nodiscard]] const Desk& desk() const { return *desk_; }
  /// The day so far of one stock; see day_view.h.
  [[nodiscard]] std::string day_of(std::string_view symbol) const { return day_json(*desk_, book_, symbol); }
  /// Those of all stocks in short.
  [[nodiscard]] std::string days() const { return days_json(*desk_, book_, engine_now()); }
  [[nodiscard]] std::function<std::vector<std::string>(const NoticeRecord&)> recipients() const {
    return out_.recipients();
  }

  // The steps of the end, for Ending.
  /// Feeds are stopped, what is there is handed to the journal; deliveries go on.
  void begin_end();
  void drain() { pump(); }                      ///< sends what is due
  void note_answers() { out_.note_answers(); }  ///< begins nothing; what became of deliveries goes to the journal
  [[nodiscard]] bool is_quiet() const;          ///< nothing is in hand that could still come back
  bool end_channels() { return out_.stop(std::chrono::milliseconds{0}); }  ///< false: one that hangs is left behind
  void end() { stage_.go_to(Stage::ended); }                               ///< nobody is listened to any more

 private:
  // house_answers.cpp
  void go_on_with_answers();
  void next_answer();
  void next_shared_answer();
  void share_answer(Answer answer, AnswerReply reply);
  void take_anew(Answer answer);
  void keep_again(const Answer& answer);
  [[nodiscard]] bool watches(std::string_view symbol, Price pivot) const;
  void keep_unlaid(const Answer& answer, AnswerReply reply, const std::string& why);
  [[nodiscard]] AnswerScene answer_scene() const;
  [[nodiscard]] Price last_price(std::string_view symbol) const;
  [[nodiscard]] std::optional<std::string> newest_notice(std::string_view asked) const;
  [[nodiscard]] Date today_for_answers() const;
  void change_lists(Answer answer, AnswerReply reply, bool again = false);
  void prepare(Settings settings, std::function<void(ReadyDesk)> then);
  Status put_lists_in_force(DeskParts parts);
  void lay_lists_again();
  void put_in_force(const Answer& answer, AnswerReply reply);
  void acknowledge_with(const Answer& answer);
  void on_answers_kept(const std::vector<Answer>& answers, bool durable);
  void on_feed_refusal(const std::string& feed, std::string_view text);

  /// All that a configuration wants to have made before it is in force.
  struct Ways {
    FeedSet::Made in;
    ChannelSet::Made out;
  };
  House(HouseWorld world, std::unique_ptr<Desk> desk);
  [[nodiscard]] Result<Ways> make_ways(const Settings& settings);
  void put_in_force(Ways ways);
  void note_read(std::vector<std::string> warnings);
  void tell_if_blind();
  void keep_heard_days(const std::vector<DayRecord>& days) const;
  void warn(const std::string& detail);
  JournalOutbox::World world_of_keeping();
  ChannelSet::World world_of_ways_out();
  void on_ticks(std::span<const Tick> all);
  std::size_t give_day(std::span<const Tick> ticks);
  void give(std::span<const Tick> ticks);
  std::span<const Tick> believed(std::span<const Tick> ticks);
  void end_doubts(bool borne_out);
  void put_hole_before(const Tick& tick, Timestamp from);
  [[nodiscard]] std::optional<Date> past_day(SymbolId symbol, Timestamp time, Timestamp now) const;
  [[nodiscard]] static bool is_of_the_past(const Tick& tick);
  void begin_day(const Tick& tick);
  void expect_symbols(bool new_day);
  void fill_hole_of_start(const Tick& first);
  [[nodiscard]] Timestamp end_of_day(Timestamp time) const;
  [[nodiscard]] static double speed_of(const Settings& settings);
  JournalBatch take_news();
  void add_states(JournalBatch& batch, bool all);
  void tell(std::vector<NoticeRecord> notices);
  void show(const NoticeRecord& record);
  [[nodiscard]] bool has_news() const;           ///< what is not to wait for the next checkpoint
  [[nodiscard]] bool is_checkpoint_due() const;  ///< of what has changed besides
  void remember(const JournalBatch& batch);
  void draw();
  void on_delivery_rows(const std::vector<DeliveryRow>& rows);
  void pump();
  void note_seen(const std::vector<SymbolState>& symbols);
  void now_and_then();
  void say_good_morning();
  void say_what_held();
  void save_lessons();
  void tell_about(const std::string& name, Notice notice);
  void on_channel_report(const ChannelReport& report);
  void on_feed_event(const FeedEvent& event);
  void on_feed_state(FeedState state);
  [[nodiscard]] bool in_session() const;

  [[nodiscard]] std::function<void(std::function<void()>)> heard_post();
  void leave_what_was_seen(RestoredState& kept) const;
  void take_up(RestoredState kept);

  HouseWorld world_;
  LifeStage stage_;
  std::unique_ptr<Desk> desk_;
  NoticeCollector collector_;
  AnsweredDesk answered_;
  EveningLessons lessons_;
  EveningClock evening_;
  OwnNotices own_;
  JournalOutbox keeping_;
  ChangedStates states_;
  ChannelSet out_;
  FeedSet in_;
  FeedSet::Made first_feeds_;  ///< until the start
  bool speaks_ = true;
  JournalMemory memory_;
  Records* records_ = nullptr;

  std::deque<std::pair<AnswerRequest, AnswerReply>> asked_;             ///< bounded
  std::map<std::string, std::pair<std::string, AnswerReply>> replies_;  ///< by id: in force, on their way to the journal
  bool changing_ = false;  ///< a list is laid out for an answer; the others wait
  bool sharing_ = false;   ///< one is on its way to the other machines
  struct SharedStep {
    Answer answer;
    bool again = false;  ///< it is known, and takes effect anew
  };
  std::deque<SharedStep> shared_steps_;
  std::map<std::string, AnswerReply> shared_replies_;  ///< by id, of those given here
  std::uint64_t lists_ = 0, applied_ = 0, answers_made_ = 0;
  ConfigurationRow configuration_;
  Answer newest_add_;  ///< a source may refuse it
  Nanos newest_add_at_ = 0;

  Date today_;
  Timestamp next_day_;  ///< its first midnight
  FeedClock feed_clock_;
  std::vector<Tick> doubted_;  ///< dated far ahead, two at the most: the third bears them out
  Resumption resumption_;
  Timestamp seen_before_;     ///< newest tick that the journal knew
  Nanos started_steady_ = 0;  ///< our steady clock at the start
  bool has_begun_ = false;    ///< there was a tick of the present
  Date begun_with_;           ///< of the newest tick that was looked at for that
  Nanos last_flush_ = 0, last_look_ = 0;
  std::vector<Tick> believed_;
  bool dirty_ = false, knows_nothing_ = false;  ///< something has changed; the journal has nothing of before
  Nanos heard_at_ = 0;
  std::uint64_t progress_ = 0, ticks_seen_ = 0, notices_ = 0, holes_ = 0;
  std::uint64_t failed_starts_ = 0;    ///< of the journal: at most one
  std::vector<NoticeRecord> to_draw_;  ///< of the batch that is being handed over
  std::deque<NoticeRecord> latest_;
  std::map<std::string, std::vector<SentMark>> sent_;  ///< of the latest
  std::array<std::uint64_t, kNoticeKinds> by_kind_{};
  std::string history_trouble_;
  UpkeepRow reloads_;  ///< its part of it
  DayBook book_;
  ProjectionErrors errors_;
};

/// Each symbol of the watches once, sorted.
[[nodiscard]] std::vector<std::string> symbols_of(const Settings& settings);

}  // namespace brimwatch
