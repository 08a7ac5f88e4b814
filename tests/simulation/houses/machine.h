#pragma once
// One machine of a shared house in the simulated world: the real house, the real shared keeper, a journal of its own, its
// own connection to the quotes, and a link to the one log. It is killed, stands still, is cut off, and begins again.
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "live/house.h"
#include "shared/fake_link.h"
#include "shared/shared_keeper.h"
#include "sink.h"
#include "source.h"
#include "virtual_time.h"

namespace brimwatch::simulation {

/// What all machines stand in.
class Machine;

struct Street {
  VirtualTime& time;
  Market& market;
  test::FakeLog& log;
  std::vector<std::unique_ptr<Sink>>& sinks;
  std::shared_ptr<const Calendar> calendar;
  Settings settings;
  Tally& tally;
  std::map<std::string, Machine*> doors{};  ///< where members are asked directly, by address
  bool trace = false;                       ///< what happens is printed
  void say(const std::string& who, std::string_view what) const;
};

class Machine {
 public:
  /// `name` empty: a house that stands alone, with nothing shared. Files lie in `folder`.
  Machine(Street& street, std::string name, std::string folder, std::uint64_t seed);
  ~Machine();
  Machine(const Machine&) = delete;
  Machine& operator=(const Machine&) = delete;

  void start();
  void kill();
  /// The next time that it has the log's word for a notice or an answer, and its own disk's not yet.
  void die_before_its_disk_answers(std::function<void()> then) { dies_at_write_ = std::move(then); }
  /// For so long from now on, its journal cannot be opened when it starts.
  void lock_journal(Nanos span) { no_journal_until_ = street_.time.steady() + span; }
  /// Its disk answers, and its journal can be opened.
  void mend_disk();
  /// Its journal has been read, and nothing waits for it.
  [[nodiscard]] bool has_kept_all() const;
  void stand_still(Nanos span);
  /// Its disk writes nothing for so long, and reports nothing.
  void hang_disk(Nanos span);
  void hand_over();
  /// A person answers here; `done` with the id when it is kept, or with an empty one.
  void answer(const AnswerRequest& request, const std::function<void(std::string id)>& done);
  [[nodiscard]] Snapshot snapshot() const;
  /// It answers the others directly, unless its way there is cut.
  void open_door();
  void cut_door(bool cut) { door_cut_ = cut; }
  /// Its wall clock is wrong by so much, from its first start on.
  void set_clock_off(Nanos span) { clock_off_ = span; }
  [[nodiscard]] Nanos clock_off() const { return clock_off_; }
  [[nodiscard]] Timestamp wall() const { return street_.time.wall() + clock_off_; }
  /// It has found another's clock more than two seconds off its own.
  [[nodiscard]] bool sees_clocks_apart() const { return sees_clocks_apart_; }
  /// The newest form that its program reads and writes, from its next start on; and after how long it takes a member for
  /// gone that it does not see.
  void set_forms(int reads, Nanos left_after) { reads_ = reads, left_after_ = left_after; }
  [[nodiscard]] int reads() const { return reads_; }
  void begin_feed_at_takeover() { feed_at_takeover_ = true; }
  [[nodiscard]] bool feed_at_takeover() const { return feed_at_takeover_; }
  [[nodiscard]] bool has_feed() const;
  [[nodiscard]] bool is_up() const { return life_ != nullptr; }
  [[nodiscard]] bool has_right() const;
  /// It is up, and hears the quotes.
  [[nodiscard]] bool hears() const { return life_ != nullptr && !stands_still_ && source_.is_heard(); }
  [[nodiscard]] Role role() const;
  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] Source& source() { return source_; }
  [[nodiscard]] test::FakeLink& link() { return link_; }
  /// What its journal has; for the checks.
  [[nodiscard]] Result<std::unique_ptr<Journal>> journal() const;

 private:
  struct Life;
  Street& street_;
  std::string name_, path_;
  std::uint64_t seed_;
  test::FakeLink link_;
  Source source_;
  bool stands_still_ = false, door_cut_ = false, feed_at_takeover_ = false;
  bool sees_clocks_apart_ = false;
  int reads_ = kSharedFormat;
  Nanos left_after_ = 10 * kMinute;
  Nanos clock_off_ = 0, disk_hangs_until_ = 0, no_journal_until_ = 0;
  std::function<void()> dies_at_write_;
  std::string door_;  ///< its address; empty: none
  std::unique_ptr<Life> life_;
};

}  // namespace brimwatch::simulation
