#pragma once
// What the shared log says, as this machine last read it. Pure.
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "adapters/shared_log.h"
#include "shared/entries/keys.h"
#include "shared/entries/values.h"

namespace brimwatch {

/// What a reading brought that was not known before.
struct SharedChanges {
  std::vector<SharedNotice> notices;  ///< in the order in which they were created
  std::vector<SharedDelivery> deliveries;
  std::vector<SharedAcknowledgement> acknowledgements;
  std::vector<WatchState> watches;
  /// In the order in which they take effect: the new ones, and after the first of them those that were known already.
  std::vector<Answer> answers;
  [[nodiscard]] bool empty() const {
    return notices.empty() && deliveries.empty() && acknowledgements.empty() && watches.empty() && answers.empty();
  }
};

class SharedView {
 public:
  using WatchKey = std::pair<std::string, Price>;                      ///< symbol, pivot
  using Answers = std::map<std::pair<Revision, std::string>, Answer>;  ///< by when they were given, and their id

  /// `reads`: the newest form that this machine reads.
  explicit SharedView(std::string_view house, int reads = kSharedFormat) : keys_(house), reads_(reads) {}

  /// Entries of this house, each as it is now; what this machine wrote itself may come too.
  SharedChanges apply(std::vector<LogEntry> entries);
  /// All members there are; those missing have gone. False: they are as they were.
  bool set_members(std::vector<LogEntry> entries);
  void set_leader(std::optional<LogEntry> entry);

  /// A commit of this machine at that revision: what it wrote is known, and no news when it is read again. What has been
  /// read of the log since then stays.
  void note(const SharedNotice& notice, Revision created);
  void note(const WatchState& state, Revision changed);
  void note(const SharedDelivery& delivery, Revision changed);

  void note_acknowledged(const std::string& id) { acknowledged_.insert(id); }

  [[nodiscard]] bool has_notice(const std::string& id) const { return notices_.contains(id); }
  [[nodiscard]] bool has_acknowledgement(const std::string& id) const { return acknowledged_.contains(id); }
  /// The deliveries that have not come to their end, oldest notice first.
  [[nodiscard]] std::vector<OpenDelivery> open_deliveries() const;
  [[nodiscard]] std::vector<OpenDelivery> open_deliveries_of(const std::string& notice_id) const;
  /// Of that message the log knows the end.
  [[nodiscard]] bool is_done(const DeliveryRow& row) const;
  [[nodiscard]] const std::map<WatchKey, WatchState>& watches() const { return watches_; }
  /// When that watch's state was last written; 0: never.
  [[nodiscard]] Revision changed(const WatchKey& key) const;
  [[nodiscard]] const Answers& answers() const { return answers_; }
  [[nodiscard]] bool has_answer(const std::string& id) const { return answer_ids_.contains(id); }
  [[nodiscard]] const std::map<std::string, SymbolState>& states() const { return states_; }
  [[nodiscard]] const std::map<std::string, SharedMember>& members() const { return members_; }
  [[nodiscard]] const std::map<std::string, std::string>& lists() const { return lists_; }
  [[nodiscard]] const std::optional<LogEntry>& leader() const { return leader_; }
  [[nodiscard]] const std::optional<SharedSpeaker>& speaker() const { return speaker_; }
  /// Who last ceased of its own will, and at which revision it said so.
  [[nodiscard]] const std::optional<SharedSpeaker>& left() const { return left_; }
  [[nodiscard]] Revision left_at() const { return left_at_; }
  /// What cannot be read, in words; empty: all can. Whoever cannot read must not lead.
  [[nodiscard]] std::string unreadable() const;
  [[nodiscard]] bool wants_states() const;  ///< some member begins its feed only when it takes over
  void forget_before(Date day);             ///< notices, deliveries and acknowledgements of earlier days
  void forget_answers_before(Date day);

 private:
  struct Kept {
    SharedNotice notice;
    Revision created = 0;
  };
  using DeliveryKey = std::pair<std::string, std::string>;
  static DeliveryKey key_of(const DeliveryRow& row) { return {row.notice_id, row.channel}; }
  void take(const LogEntry& entry, SharedChanges& changes);
  void take_notice(const LogEntry& entry, SharedChanges& changes);
  void take_delivery(const LogEntry& entry, SharedChanges& changes);
  void take_watch(const LogEntry& entry, SharedChanges& changes);
  void take_answer(const LogEntry& entry);
  template <typename T>
  const T* sound(const LogEntry& entry, const Result<T>& read);
  [[nodiscard]] bool has_read(const LogEntry& entry) const;
  [[nodiscard]] bool has_read_since(const std::string& key, Revision changed) const;
  void note_read(const LogEntry& entry);
  void forget_read(const std::string& from, const std::string& until);

  SharedKeys keys_;
  int reads_;
  /// What has been read of each key, as far as it tells whether it has changed since: a value is parsed once.
  std::map<std::string, std::pair<Revision, std::size_t>> read_;
  std::map<std::string, std::string> troubles_;  ///< keys whose values cannot be read, each with what was found
  std::map<std::string, Kept> notices_;
  std::map<DeliveryKey, SharedDelivery> deliveries_;
  std::set<std::string> acknowledged_;
  std::map<WatchKey, WatchState> watches_;
  std::map<WatchKey, Revision> watches_changed_;
  Answers answers_;
  std::set<std::string> answer_ids_;
  Revision first_new_answer_ = 0;  ///< while a reading is taken; 0: it brought none
  std::map<std::string, SymbolState> states_;
  std::map<std::string, SharedMember> members_;
  std::vector<LogEntry> member_entries_;
  std::map<std::string, std::string> lists_;
  std::optional<LogEntry> leader_;
  std::optional<SharedSpeaker> speaker_, left_;
  Revision left_at_ = 0;
};

/// The day at the beginning of a notice's id; a far one where there is none.
[[nodiscard]] std::string first_id_of(Date day);

}  // namespace brimwatch
