#pragma once
// Who speaks: one machine's part in that decision. It keeps a lease alive, reads the shared log, asks to lead where
// nobody does, and knows at every moment whether it may speak. All spans are measured on this machine's own clock that
// goes on while it sleeps; clocks of two machines are never compared.
//
// One thread: on_beat() about ten times a second, answers of the log, and events to whoever owns it.
#include <algorithm>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/shared_log.h"
#include "core/log_sink.h"
#include "shared/direct.h"
#include "shared/entries/keys.h"
#include "shared/entries/members_seen.h"
#include "shared/entries/own_record.h"
#include "shared/entries/view.h"
#include "shared/right.h"

namespace brimwatch {

enum class Role : std::uint8_t {
  joining,      ///< the log has not been read yet
  standing_by,  ///< another speaks, or nobody yet
  taking_over,  ///< the log has chosen this one; what the one before wrote is being read
  speaking,
  unsure,  ///< it spoke, and its right has run out without a word from the log: it says nothing
  alone,   ///< the log does not answer: it speaks, and says that it may be told twice
};
[[nodiscard]] std::string_view to_string(Role role);

/// How this machine came to speak.
struct Takeover {
  std::string from;        ///< who spoke before; empty: nobody that is known of
  std::string how;         ///< "handed over", "ended", or what was wrong with it; empty: it fell silent
  Timestamp heard;         ///< when it was last known to speak, by our clock
  bool was_alone = false;  ///< we spoke alone before
  Nanos unheard = 0;       ///< it had heard nothing for so long: what happened since is ours to tell
};

struct VoiceSettings {
  std::string name, house;
  Nanos ttl = 2 * kSecond;
  Nanos alone_after = kMinute;  ///< 0: a member that stands by never speaks alone
  int reads = kSharedFormat;    ///< the newest form that this machine reads and writes
  Nanos left_after =
      10 * kMinute;  ///< a member not seen for so long has left, and nothing more is written for it to read
};

class Voice {
 public:
  struct World {
    std::function<Nanos()> boot;      ///< CLOCK_BOOTTIME, or a simulation's
    std::function<Timestamp()> wall;  ///< for what is shown
    LogSink say;
    std::function<SharedMember()> describe;  ///< this machine, but for its name and clock
    std::function<std::string()> list;       ///< its watches, for comparing; asked where describe() has another hash
    std::function<void(const SharedChanges&)> on_changes;
    std::function<void(const Takeover&)> on_lead;
    std::function<void(const std::string& why)> on_stand_by;
    std::function<void()> on_alone;
    DirectQuestions::Ask ask_directly{};   ///< may be empty: nobody is asked
    std::function<std::string()> rules{};  ///< what decides its notices; asked as `list` is
    std::function<Nanos()> unheard{};      ///< since it last heard a quote; may be empty
  };
  Voice(VoiceSettings settings, SharedLog& log, std::shared_ptr<SpeakingRight> right, World world);
  Voice(const Voice&) = delete;
  Voice& operator=(const Voice&) = delete;

  void on_beat();
  /// A commit has found another leader in the log.
  void on_fenced() { lose("another machine speaks"); }
  /// Gives up what it leads, saying `how`, and leaves it to the others for a while. `then` hears what is wrong, in words
  /// for a person: it did not lead, or goes on leading, or nobody knows; empty: nothing.
  void step_down(const std::string& how, std::function<void(const std::string& trouble)> then);
  /// As step_down(), and its lease ends with it. `then` may come late or never: nobody waits for it.
  void leave(std::function<void()> then);

  [[nodiscard]] Role role() const { return role_; }
  [[nodiscard]] bool leads() const { return role_ == Role::speaking; }
  [[nodiscard]] Revision token() const { return token_; }
  /// The newest form that all members read, and those that may come back.
  [[nodiscard]] int format() const { return members_seen_.format(); }
  [[nodiscard]] Timestamp since() const { return since_; }  ///< when the role began, by the wall clock
  [[nodiscard]] const SharedView& view() const { return view_; }
  [[nodiscard]] SharedView& view() { return view_; }
  [[nodiscard]] const SharedKeys& keys() const { return keys_; }
  [[nodiscard]] const VoiceSettings& settings() const { return settings_; }
  [[nodiscard]] std::string trouble() const;  ///< of the log; empty: it answers, takes what is written, and can be read
  /// When another was last known to speak, by the log or by its own word, on the same clock; far back: never. What this
  /// machine saw before is that one's to tell.
  [[nodiscard]] Nanos other_seen() const { return std::max(other_seen_, direct_.last_spoken()); }
  /// When another was last known to speak by the log: until then, what the log holds is what that one knew.
  [[nodiscard]] Nanos other_led() const { return other_seen_; }
  [[nodiscard]] const DirectQuestions& direct() const { return direct_; }
  /// The log has been read once, whole.
  [[nodiscard]] bool has_read() const { return seen_ != 0; }
  [[nodiscard]] Revision read_up_to() const { return seen_; }
  /// Since the log last answered.
  [[nodiscard]] Nanos unreached() const { return world_.boot() - reached_; }
  /// Members whose clock is more than two seconds off ours, with by how much (theirs less ours).
  [[nodiscard]] const std::map<std::string, Nanos>& clocks_off() const { return members_seen_.clocks_off(); }

  static constexpr Nanos kGrace = 3 * kSecond;         ///< unsure for so long, and still no answer: alone
  static constexpr Nanos kHandedOver = 10 * kSecond;   ///< after handing over it does not ask to lead again
  static constexpr Nanos kUnwellMost = 5 * kSecond;    ///< then one that is well is to speak instead
  static constexpr Nanos kUnwellAgain = 10 * kMinute;  ///< so long that is not tried again
  static constexpr Nanos kAskDirectly = 2 * kSecond;   ///< without the log for so long, the others are asked

 private:
  void look_at_pause(Nanos now);
  void look_at_right(Nanos now);
  void look_at_others(Nanos now);
  void look_while_unsure(Nanos now);
  void look_while_waiting(Nanos now);
  void look_while_alone();
  void look_at_health(Nanos now);
  void cease(const SharedSpeaker& word, std::function<void(const std::string& trouble)> then);
  [[nodiscard]] bool waits() const;
  void renew(Nanos now);
  void on_granted(const LogAnswer& answer, Nanos asked);
  void on_renewed(const LogAnswer& answer, Nanos asked);
  void poll(Nanos now);
  [[nodiscard]] LogRequest poll_request(Nanos now);
  void on_page(LogAnswer answer, Nanos asked);
  void ask_next_page(const std::string& after, Nanos asked);
  void finish_poll(Nanos asked);
  void look_at_leader();
  void note_other(Revision created);
  [[nodiscard]] bool can_read();
  void campaign();
  void note_refusal(const std::string& words);
  [[nodiscard]] Nanos nobody_since() const;
  [[nodiscard]] bool leaves_it_to_others(Nanos now) const;
  void win(Revision token);
  void lead();
  void lose(const std::string& why);
  void go_alone(const std::string& why);
  void set_role(Role role);
  void extend();
  void note_trouble(const LogAnswer& answer, bool writes);
  [[nodiscard]] Nanos patience() const;

  VoiceSettings settings_;
  SharedLog& log_;
  std::shared_ptr<SpeakingRight> right_;
  World world_;
  SharedKeys keys_;
  SharedView view_;
  DirectQuestions direct_;
  OwnRecord own_record_;
  MembersSeen members_seen_;
  std::shared_ptr<int> alive_ = std::make_shared<int>(0);  ///< answers that come after it has gone are not heard

  Role role_ = Role::joining;
  Timestamp since_;
  Revision token_ = 0;
  std::string trouble_;
  bool refuses_ = false, can_read_ = true;  ///< the log, what is written; this machine, the log

  std::int64_t lease_ = 0;
  Nanos renewed_ = 0, lease_until_ = 0;
  bool renewing_ = false, campaigning_ = false, leaving_ = false;

  bool polling_ = false;
  Nanos begun_ = 0, polled_ = 0, reached_ = 0, last_beat_ = 0, full_ = 0;
  Revision seen_ = 0, reading_at_ = 0, reading_since_ = 0;
  std::vector<LogEntry> gathered_;
  std::vector<LogEntry> members_read_;
  std::optional<LogEntry> leader_read_;

  Nanos unsure_since_ = 0, alone_since_ = 0, not_before_ = 0;
  std::optional<Nanos> unwell_since_;  ///< while it speaks
  Nanos left_unwell_ = -kDayNanos;     ///< when it last handed over for that
  Nanos refused_since_ = 0;            ///< nobody leads, and the log lets this machine not, since then; 0: it is not so
  std::string refusal_;
  int failed_since_ = 0;  ///< readings without an answer since it has become unsure
  std::string before_;    ///< who was last known to speak, if not this one
  Timestamp before_heard_;
  Revision before_created_ = 0;
  Nanos other_seen_ = -kDayNanos;
  std::uint64_t term_ = 0;  ///< of the log, as last heard
  Nanos elected_ = -kDayNanos;
  bool was_alone_ = false;
};

}  // namespace brimwatch
