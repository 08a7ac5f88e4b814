#pragma once
// Where a shared house's batches go to be kept: first to the log that all members share, which decides, then to this
// machine's own journal, which stays complete.
//
// While another machine speaks, notices of this one's engine wait: those that the other tells are dropped, and when this
// one takes over, those of the last seconds that nobody has told are told. Without the log, alone, everything is told at
// once, marked as possibly told twice, and the log gets it later.
//
// One thread, the loop's; what belongs to the local keeper's thread stays there.
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/log_sink.h"
#include "core/snapshot.h"
#include "journal/keeper.h"
#include "journal/memory.h"
#include "shared/entries/operations.h"
#include "shared/held_notices.h"
#include "shared/owed.h"
#include "shared/own_watches.h"
#include "shared/shared_answers.h"
#include "shared/uploads.h"
#include "shared/voice.h"

namespace brimwatch {

class SharedKeeper final : public BatchKeeper {
 public:
  /// What it does to the house. All of it is called on the loop's thread.
  struct House {
    std::function<void(const std::vector<WatchState>&)> adopt;   ///< sides and counts of the one that speaks
    std::function<void(const std::vector<NoticeRecord>&)> hear;  ///< what another machine has said
    std::function<void(std::vector<OpenDelivery>)> speak;        ///< from now on, beginning with these
    std::function<void(std::vector<OpenDelivery>)> take_up;      ///< these too, while it speaks
    std::function<void()> stand_by;                              ///< nothing more is said
    /// What it told under that id has another now; may be empty.
    std::function<void(const std::string& notice_id)> give_up_number{};
    std::function<void(const std::string& notice_id, Timestamp at)> acknowledge;
    std::function<void(const Takeover&)> took_over;
    std::function<void(std::vector<Answer>)> take_answers{};   ///< what people said, in the order of SharedAnswers
    std::function<void(const Answer&)> take_again{};           ///< one that was given alone has its place after others
    std::function<void(const Answer&)> mute_again{};           ///< the one before may not have had this mute
    std::function<void(std::vector<SymbolState>)> begin_feed;  ///< of one whose feed begins at a takeover; may be empty
  };
  struct World {
    std::function<Nanos()> boot;
    std::function<Timestamp()> wall;
    LogSink say;
    std::function<SharedMember()> describe;
    std::function<std::string()> list;
    DirectQuestions::Ask ask_directly{};   ///< may be empty
    std::function<std::string()> rules{};  ///< asked where describe() has a hash of them
    std::function<Nanos()> unheard{};      ///< since a quote was last heard; may be empty
  };
  SharedKeeper(VoiceSettings settings, BatchKeeper& local, SharedLog& log, std::shared_ptr<SpeakingRight> right,
               House house, World world);

  // BatchKeeper
  void set_recipients(Recipients recipients) override;
  void submit(JournalBatch batch, Done done) override;
  [[nodiscard]] WriterCounters counters() const override { return local_.counters(); }
  [[nodiscard]] std::size_t waiting() const override { return local_.waiting() + waiting_rows_; }

  void on_beat();
  /// What this machine's journal knew of before: at the start, or when it could be read at last. What the log is behind
  /// with goes on from there; what it lacks goes to it.
  void remember(JournalMemory memory);
  /// Of what the local keeper tells as written: what is for people. The rest was another machine's to tell.
  [[nodiscard]] std::vector<NoticeRecord> to_tell(std::vector<NoticeRecord> written) const;
  /// A person's acknowledgement, on its way to the other machines.
  void acknowledge(const std::string& notice_id, Timestamp at);
  /// Those that are not known to the others yet.
  void acknowledged_here(const std::vector<std::string>& ids, Timestamp at);

  [[nodiscard]] SharedAnswers& answers() { return answers_; }
  [[nodiscard]] Voice& voice() { return voice_; }
  [[nodiscard]] const Voice& voice() const { return voice_; }
  [[nodiscard]] SharedRow row() const;  ///< for a person

  struct Counters {
    std::uint64_t held = 0;            ///< notices of this machine that waited while another spoke
    std::uint64_t told_by_others = 0;  ///< of those, told by another
    std::uint64_t told_after = 0;      ///< told by this machine when it took over
    std::uint64_t fenced = 0;          ///< batches that the log refused because another leads
    std::uint64_t alone = 0;           ///< notices told alone
    std::uint64_t uploaded = 0;
    std::uint64_t dropped = 0;  ///< held or not uploaded, and too many or too old
  };
  [[nodiscard]] Counters shared_counters() const;

  static constexpr Nanos kPatience = 10 * kSecond;  ///< with a log that answers all but what is written
  static constexpr Nanos kStatesEvery = kMinute;
  static constexpr int kDaysKept = 4;  ///< of notices in the log; the journals keep them all

 private:
  struct Submission {
    JournalBatch batch;
    Done done;
    std::size_t rows = 0;
    bool planned = false;
    std::optional<Nanos> asked;  ///< since when its first operation is; empty: not yet
    std::deque<SharedOperation> operations;
    std::vector<NoticeRecord> taken;  ///< by the log, and ours to tell
    std::vector<NoticeRecord> others;
    std::string uploads;  ///< the notice that it uploads: it is not fenced, and may wait for the log
    bool pays = false;    ///< what is owed when its turn comes
  };
  Voice::World world_of_voice();
  SharedAnswers::World world_of_answers();
  void go_on();
  void plan(Submission& one);
  void ask_next(Submission& one);
  void on_answer(LogAnswer answer);
  void on_decided(const SharedOperation& operation, Revision at);
  void on_not_held(const SharedOperation& operation, const LogAnswer& answer);
  void on_refused(const SharedOperation& operation);
  void note_room(const LogAnswer& answer);
  void give_back(Submission& one);
  void settle(const std::vector<WatchState>& ours);
  void renumber(const SharedOperation& operation);
  void pass_on(Submission one);
  void pass_on_held_back(Submission one);
  void pass_on_alone(Submission one);
  void store_of_others(JournalBatch batch);
  void on_changes(const SharedChanges& changes);
  void on_lead(const Takeover& takeover);
  void on_stand_by(const std::string& why);
  void on_alone();
  void take_up_alone();
  void release_held(const Takeover& takeover);
  [[nodiscard]] Nanos last_sure_of(Nanos seen) const;
  void adopt(const std::vector<WatchState>& states);
  void take_changed(const std::vector<WatchState>& changed);
  void take_uploaded(const std::vector<SharedNotice>& notices);
  void take_put_aside();
  [[nodiscard]] bool is_waiting(const SharedView::WatchKey& key, std::ptrdiff_t after = 0) const;
  void look_at_told();
  [[nodiscard]] NoticeRecord numbered(NoticeRecord record) const;
  void look_at_held();
  void upload();
  [[nodiscard]] std::deque<SharedOperation> upload_of(const std::string& id) const;
  void on_not_uploaded(const std::string& id, const LogAnswer& answer);
  void end_upload(const NoticeRecord& there);
  void upload_as_next(NoticeRecord record);
  void write_states();
  void pay_owed();
  [[nodiscard]] std::deque<SharedOperation> payments(const SharedWriter& writer);
  [[nodiscard]] SharedMark mark() const;
  [[nodiscard]] std::vector<std::string> channels_of(const NoticeRecord& record) const;
  void note_own_states(const JournalBatch& batch);

  BatchKeeper& local_;
  SharedLog& log_;
  House house_;
  World world_;
  Voice voice_;
  Owed owed_;
  OwnWatches own_watches_{voice_.view(), owed_};
  HeldNotices held_;
  SharedAnswers answers_;
  Recipients recipients_;
  std::shared_ptr<int> alive_ = std::make_shared<int>(0);

  std::deque<Submission> queue_;
  std::size_t waiting_rows_ = 0;
  bool asking_ = false, going_on_ = false;
  std::set<std::string> of_others_;   ///< notices that others have told
  std::set<std::string> renumbered_;  ///< this machine's journal has them under the number before
  Uploads uploads_;
  std::set<std::string> acknowledgements_to_upload_;
  std::vector<OpenDelivery> open_at_start_;    ///< taken up where this machine speaks alone without having read the log
  std::vector<RememberedNotice> told_before_;  ///< to be looked for in the log
  bool refuses_ = false;                       ///< the log has no room, or gives no right: said once
  Nanos states_written_ = 0, uploaded_at_ = 0, owed_asked_ = 0;
  Date day_, forgotten_;
  Counters counters_;
};

}  // namespace brimwatch
