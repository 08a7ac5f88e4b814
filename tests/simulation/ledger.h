#pragma once
// What must be true, kept by somebody who is not the daemon: which notices must exist (a second engine over the same
// ticks, cut back where a crash has cut), who has had them, in which order, and whether they were durable.
#include <functional>
#include <memory>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "live/house.h"
#include "market.h"
#include "sink.h"
#include "support/oracle.h"
#include "virtual_time.h"

namespace brimwatch::simulation {

class Ledger {
 public:
  Ledger(VirtualTime& time, Market& market, std::shared_ptr<const Calendar> calendar, Tally& tally);

  /// Its data are that old; without other faults all that is told must come, and say so.
  void set_behind(Nanos span, bool faults) { behind_ = span, faults_ = faults; }

  // --- what the daemon was seen to do
  void on_start();
  /// What the general market does, and what that means for crossings, from now on.
  void on_market(Trend trend, WhenDown when_down);
  /// A list was put in force anew.
  void on_reload() { items_.push_back({Item::Kind::new_list, {}, {}, nullptr}); }
  /// What the engine will be told of the volume of days when it next asks; before what it is given next.
  void on_lessons(const Histories& histories);
  /// The engine has been given these; `names` are the daemon's.
  void on_ticks(std::span<const Tick> ticks, const SymbolTable& names);
  /// The engine was told the time, with no tick.
  void on_engine_time(Timestamp now);
  [[nodiscard]] std::uint64_t mark() const { return dropped_ + items_.size(); }
  void on_durable(std::uint64_t mark);
  void on_notices(const std::vector<NoticeRecord>& notices, bool durable);
  /// Somebody's answer is in force; and whoever gave it was told that it is kept.
  void on_answer(const Answer& answer);
  void on_answer_kept(const std::string& id) { answers_kept_.insert(id); }
  /// What is watched by what was answered, as it stands in force now: "SYMBOL PIVOT".
  [[nodiscard]] const std::set<std::string>& watched() const { return watched_; }
  [[nodiscard]] const std::vector<Watch>& given() const { return market_.watches(); }
  /// It died: what was not durable never was.
  void on_crash();
  /// A message leaves for a channel.
  void on_message(const Sink& sink, const Message& message, bool journal_in_trouble);
  /// The other side has a notice, for the first time.
  void on_arrival(const Sink& sink, const NoticeRecord& record);

  // --- checks; each adds to troubles()
  void check_house(const House& house);
  void check_silence(bool in_session, Timestamp up_since, Timestamp session_open);
  /// All of the journal against the second engine; to be called when nothing waits to be written.
  void check_journal(Journal& journal);
  /// When all has come to rest: every notice has come to its end in every channel.
  void check_deliveries(Journal& journal, const std::vector<std::unique_ptr<Sink>>& sinks,
                        const std::vector<ChannelSettings>& channels);
  void fail(const std::string& what);

  [[nodiscard]] const std::vector<std::string>& troubles() const { return troubles_; }
  [[nodiscard]] std::uint64_t expected() const { return expected_.size(); }

 private:
  struct Item {
    enum class Kind : std::uint8_t { tick, time, start, new_list, lesson, market, answer } kind;
    Tick tick;
    std::string symbol;
    std::shared_ptr<const Learned> lesson;
    Trend trend = Trend::unknown;
    WhenDown when_down = WhenDown::mark;
    Answer answer{};
  };
  void look_for_agreement(const Tick& tick);
  void play(const Item& item);
  void set_days_apart();
  void check_days(Journal& journal);
  void check_answers(Journal& journal);
  void hear(const Answer& answer);
  void hear_list(const Answer& answer, std::size_t watch);
  void deal(const Answer& answer, std::size_t watch);
  void check_lists(const Snapshot& view);
  void look_at_mute(const NoticeRecord& record);
  void look_for_repetition(const Tick& tick);
  void look_at(const NoticeRecord& record);
  void look_at_age(const NoticeRecord& record);

  VirtualTime& time_;
  Market& market_;
  std::shared_ptr<const Calendar> calendar_;
  Tally& tally_;
  SymbolTable names_;
  test::Oracle oracle_;
  using Lessons = std::map<std::string, std::shared_ptr<const Learned>, std::less<>>;
  Lessons told_, played_;             ///< what the daemon knows now; what it knew where the oracle is
  std::map<SymbolId, Tick> far_off_;  ///< false prints with nothing true after them
  std::deque<Item> items_;            ///< not durable yet
  std::uint64_t dropped_ = 0;
  std::vector<std::string> said_;                       ///< just now, by the second engine: notices and days
  std::vector<std::string> expected_;                   ///< notices
  std::map<std::string, std::string> days_;             ///< by symbol and day: the record, as last written
  std::set<std::pair<std::uint64_t, TickKind>> given_;  ///< of the day, those with an id
  Date given_day_;
  std::unordered_map<std::string, std::size_t> order_;  ///< by id: in which order notices were first told
  std::set<std::string> durable_, undurable_;
  std::set<std::string> owed_;  ///< sent before anything was heard of them: the journal must have them in the end
  std::map<std::pair<std::string, std::string>, std::size_t> latest_;  ///< by sink and symbol
  std::map<std::pair<std::string, std::string>, int> unkept_;  ///< by sink and id: sent while nothing could be kept
  Timestamp last_tick_, last_silence_told_;
  std::set<std::string> watched_, watched_durably_;
  struct Held {
    bool counted = true;  // every purchase said how many
    std::int64_t shares = 0;
    long double mean = 0;  // millionths
  };
  std::map<std::string, Held> held_;                    // by stock
  std::vector<Answer> mutes_;                           ///< all that were ever given
  std::set<std::string> answers_given_, answers_kept_;  ///< ids
  std::map<Date, int> silences_of_day_;
  Nanos behind_ = 0;
  bool faults_ = true;
  std::vector<std::string> troubles_;
};

}  // namespace brimwatch::simulation
