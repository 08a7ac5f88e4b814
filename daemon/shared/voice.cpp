#include "shared/voice.h"

#include <algorithm>
#include <utility>

namespace brimwatch {
namespace {

constexpr Nanos kPollStanding = kSecond / 5;
constexpr Nanos kPollSpeaking = kSecond;
constexpr Nanos kReadAll = 30 * kSecond;  ///< all again, whatever the changes said
constexpr Nanos kSlept = 5 * kSecond;     ///< a beat so late: the machine, or this program, stood still
constexpr Nanos kOneAfterTheOther = 4 * kSecond;
constexpr int kPageMost = 500;
constexpr Nanos kLongerLeases =
    2 * kSecond;  ///< than their own time, after an election of etcd's: a timeout of it, and a sweep

}  // namespace

std::string_view to_string(Role role) {
  switch (role) {
    case Role::joining:
      return "joining";
    case Role::standing_by:
      return "standing by";
    case Role::taking_over:
      return "taking over";
    case Role::speaking:
      return "speaking";
    case Role::unsure:
      return "unsure";
    case Role::alone:
      return "alone";
  }
  return "";
}

Voice::Voice(VoiceSettings settings, SharedLog& log, std::shared_ptr<SpeakingRight> right, World world)
    : settings_(std::move(settings)),
      log_(log),
      right_(std::move(right)),
      world_(std::move(world)),
      keys_(settings_.house),
      view_(settings_.house, settings_.reads),
      direct_(settings_.house, settings_.name, world_.ask_directly),
      own_record_(keys_, settings_.name, settings_.reads),
      members_seen_(settings_.name, settings_.reads, settings_.left_after) {
  right_->take_away();
  since_ = world_.wall();
  begun_ = reached_ = last_beat_ = world_.boot();
  renewed_ = polled_ = reached_ - settings_.ttl;
}

/// Short: a member of etcd that is gone answers nothing, and the next one is asked then.
Nanos Voice::patience() const { return std::min(kSecond, settings_.ttl / 4); }

void Voice::on_beat() {
  if (leaving_) return;
  const Nanos now = world_.boot();
  look_at_pause(now);
  look_at_right(now);
  look_at_health(now);
  renew(now);
  poll(now);
}

/// The time in which this machine stood still is nobody's silence.
void Voice::look_at_pause(Nanos now) {
  const Nanos gap = now - std::exchange(last_beat_, now);
  if (gap < kSlept) return;
  reached_ += gap;
  if (refused_since_ != 0) refused_since_ += gap;
}

void Voice::look_at_right(Nanos now) {
  if (role_ == Role::speaking && !right_->holds(now)) {
    right_->take_away();
    unsure_since_ = now, failed_since_ = 0;
    set_role(Role::unsure);
    world_.say(LogLevel::warning, "shared: no word from etcd for " + std::to_string((now - renewed_) / kSecond) +
                                      " s; nothing is said until it is known who speaks");
  }
  if (role_ == Role::taking_over && now >= lease_until_) lose("it took too long to take over");
  look_at_others(now);
}

bool Voice::waits() const { return role_ == Role::joining || role_ == Role::standing_by || role_ == Role::taking_over; }

/// Since when nobody is known to speak: the log does not answer, or has no room for anybody's word that he does.
Nanos Voice::nobody_since() const { return refused_since_ == 0 ? reached_ : std::min(reached_, refused_since_); }

/// Without the log: whether another speaks is asked of the others themselves.
void Voice::look_at_others(Nanos now) {
  if (role_ == Role::unsure || role_ == Role::alone || now - nobody_since() >= kAskDirectly) direct_.look(now);
  if (role_ == Role::unsure) look_while_unsure(now);
  else if (waits()) look_while_waiting(now);
  else if (role_ == Role::alone) look_while_alone();
}

void Voice::look_while_unsure(Nanos now) {
  if (const std::string other = direct_.speaker_since(unsure_since_, true); !other.empty())
    return lose("etcd does not answer, and " + other + " says that it speaks");
  const Nanos span = now - unsure_since_;
  const bool asked = direct_.has_asked_since(unsure_since_) || span >= 2 * kGrace;
  if (span >= kGrace && failed_since_ > 0 && asked) go_alone("etcd has not answered since its right to speak ran out");
}

void Voice::look_while_waiting(Nanos now) {
  const Nanos span = now - nobody_since(), lately = now - DirectQuestions::kQuiet;
  // Of several that wait, one after the other, so that the next ones hear the first.
  const std::string speaker = view_.speaker() ? view_.speaker()->name : std::string();
  const Nanos wanted = settings_.alone_after + direct_.names_before(settings_.name, speaker) * kOneAfterTheOther;
  if (settings_.alone_after == 0 || span < wanted) return;
  if (!direct_.speaker_since(lately, false).empty()) return;
  if (!direct_.has_asked_since(lately) && span < wanted + DirectQuestions::kQuiet) return;
  go_alone("etcd " + (refused_since_ == 0 ? "has not answered" : refusal_) + " for " + std::to_string(span / kSecond) +
           " s, and nobody says that it speaks");
}

/// What the log holds is the other's to tell, and nothing waits for us.
void Voice::look_while_alone() {
  if (const std::string other = direct_.speaker_since(alone_since_, true); !other.empty())
    lose("etcd does not answer, and " + other + " says that it speaks");
}

/// One that hears no quotes, or cannot keep what it says, hands over to one that is well.
void Voice::look_at_health(Nanos now) {
  if (role_ != Role::speaking || own_record_.written().well) return unwell_since_.reset();
  if (!unwell_since_) unwell_since_ = now;
  const bool other_is_well = std::any_of(view_.members().begin(), view_.members().end(), [this](const auto& one) {
    return one.first != settings_.name && one.second.well && one.second.feed == "own";
  });
  if (!other_is_well || now - *unwell_since_ < kUnwellMost || now - left_unwell_ < kUnwellAgain) return;
  left_unwell_ = now;
  const std::string& trouble = own_record_.written().trouble;
  const std::string why = trouble.empty() ? "is not well" : trouble;
  world_.say(LogLevel::warning, "shared: this machine " + why + "; another, that is well, is to speak");
  SharedSpeaker word{settings_.name, world_.wall(), why + " and handed over"};
  if (world_.unheard) word.unheard = world_.unheard();
  cease(word, [](const std::string&) {});
}

// --- the lease ---

void Voice::renew(Nanos now) {
  if (renewing_ || (lease_ != 0 && now - renewed_ < settings_.ttl / 3)) return;
  renewing_ = true;
  LogRequest request;
  request.kind = lease_ == 0 ? LogRequest::Kind::grant : LogRequest::Kind::renew;
  request.lease = lease_, request.ttl = settings_.ttl, request.patience = patience();
  log_.ask(std::move(request),
           [this, alive = std::weak_ptr<int>(alive_), now, granted = lease_ == 0](const LogAnswer& answer) {
             if (alive.expired()) return;
             renewing_ = false;
             if (leaving_) return;
             if (granted) on_granted(answer, now);
             else on_renewed(answer, now);
           });
}

void Voice::on_granted(const LogAnswer& answer, Nanos asked) {
  note_trouble(answer, true);
  if (answer.outcome == LogAnswer::Outcome::refused && has_read() && !view_.leader()) note_refusal(answer.words);
  if (!answer.is_done()) return;
  lease_ = answer.lease, renewed_ = asked, lease_until_ = asked + answer.ttl;
  own_record_.on_new_lease(asked);
}

void Voice::on_renewed(const LogAnswer& answer, Nanos asked) {
  if (answer.outcome == LogAnswer::Outcome::unknown) return;
  if (!answer.is_done()) return note_trouble(answer, false);
  if (answer.ttl > 0) {
    renewed_ = asked, lease_until_ = asked + answer.ttl;
    if (role_ == Role::speaking) extend();
    return;
  }
  lease_ = 0;
  if (role_ == Role::speaking || role_ == Role::unsure || role_ == Role::taking_over)
    lose("its lease has ended while it did not answer");
}

/// A little less than the lease: what leaves before it must be gone when it ends.
void Voice::extend() { right_->set(lease_until_ - settings_.ttl / 10); }

// --- reading ---

void Voice::poll(Nanos now) {
  const Nanos every = role_ == Role::speaking ? kPollSpeaking : role_ == Role::taking_over ? 0 : kPollStanding;
  if (polling_ || now - polled_ < every) return;
  polling_ = true, polled_ = now;
  gathered_.clear();
  LogRequest request = poll_request(now);
  const bool writes = !request.writes.empty();
  log_.ask(std::move(request), [this, alive = std::weak_ptr<int>(alive_), now, writes](LogAnswer answer) {
    if (alive.expired()) return;
    note_trouble(answer, writes);
    on_page(std::move(answer), now);
  });
}

/// The leader, the members, and what has changed: by revision, so that nothing is missed and no stream can fall silent
/// without a word. This machine's own record goes with it when it is due.
LogRequest Voice::poll_request(Nanos now) {
  LogRequest request;
  request.patience = patience();
  if (lease_ != 0 && own_record_.may_be_written(now))
    request.writes = own_record_.due(world_.describe(), world_.list, world_.rules, {now, world_.wall(), lease_});
  const bool all = seen_ == 0 || now - full_ >= kReadAll;
  if (all) full_ = now;
  reading_since_ = all ? 0 : seen_ + 1;
  reading_at_ = 0;
  request.ranges.push_back({keys_.leader()});
  request.ranges.push_back({keys_.member(""), SharedKeys::past(keys_.member(""))});
  request.ranges.push_back({keys_.prefix(), keys_.end(), reading_since_, 0, kPageMost});
  return request;
}

void Voice::on_page(LogAnswer answer, Nanos asked) {
  if (!answer.is_done() || answer.pages.empty()) {
    polling_ = false, full_ = asked - kReadAll;  // all again
    own_record_.on_no_answer(asked, answer.outcome == LogAnswer::Outcome::refused);
    ++failed_since_;
    return;
  }
  reached_ = std::max(reached_, asked);
  if (answer.term != 0 && std::exchange(term_, answer.term) != answer.term) elected_ = world_.boot();
  if (reading_at_ == 0) {
    reading_at_ = answer.revision;
    leader_read_ = answer.pages[0].entries.empty() ? std::nullopt : std::optional(answer.pages[0].entries.front());
    members_read_ = answer.pages.size() > 1 ? std::move(answer.pages[1].entries) : std::vector<LogEntry>();
  }
  LogPage& page = answer.pages.back();
  const std::string after = page.entries.empty() ? std::string() : page.entries.back().key;
  std::move(page.entries.begin(), page.entries.end(), std::back_inserter(gathered_));
  if (page.more && !after.empty()) return ask_next_page(after, asked);
  finish_poll(asked);
}

/// At the revision of the first page, so that all of them are of one moment.
void Voice::ask_next_page(const std::string& after, Nanos asked) {
  LogRequest request;
  request.patience = patience();
  request.ranges.push_back({after + '\0', keys_.end(), reading_since_, reading_at_, kPageMost});
  log_.ask(std::move(request), [this, alive = std::weak_ptr<int>(alive_), asked](LogAnswer answer) {
    if (alive.expired()) return;
    note_trouble(answer, false);
    on_page(std::move(answer), asked);
  });
}

void Voice::finish_poll(Nanos asked) {
  polling_ = false;
  seen_ = reading_at_;
  const bool changed = view_.set_members(std::move(members_read_));
  if (changed) direct_.know(view_.members());
  members_seen_.note(view_.members(), changed, {.asked = asked, .read = world_.boot(), .wall = world_.wall()});
  view_.set_leader(std::move(leader_read_));
  const SharedChanges changes = view_.apply(std::exchange(gathered_, {}));
  if (!changes.empty()) world_.on_changes(changes);
  if (!leaving_) look_at_leader();
}

// --- who leads ---

/// Where etcd has just elected a leader of its own, a lease is no sign that its owner lives.
void Voice::note_other(Revision created) {
  const Nanos now = world_.boot();
  before_heard_ = world_.wall();
  if (created != std::exchange(before_created_, created) || now - elected_ > settings_.ttl + kLongerLeases)
    other_seen_ = now;
}

void Voice::look_at_leader() {
  const auto& leader = view_.leader();
  if (leader) refused_since_ = 0;
  const bool holds = role_ == Role::speaking || role_ == Role::unsure || role_ == Role::taking_over;
  if (holds) {
    if (!leader || leader->created != token_) return lose(leader ? "another machine speaks" : "its lease has ended");
    if (role_ == Role::taking_over) return lead();
    if (role_ == Role::unsure && lease_until_ - settings_.ttl / 10 > world_.boot()) set_role(Role::speaking), extend();
    return;
  }
  if (leader && lease_ != 0 && leader->lease == lease_) return win(leader->created);
  if (leader) {
    before_ = view_.speaker() ? view_.speaker()->name : std::string();
    note_other(leader->created);
    not_before_ = 0;  // what was handed over has been taken
    if (role_ == Role::joining) set_role(Role::standing_by);
    if (role_ == Role::alone) lose("etcd answers again, and " + before_ + " speaks");
    return;
  }
  if (role_ == Role::joining) set_role(Role::standing_by);
  campaign();
}

/// One that has only begun, perhaps anew within its own lease, has not heard what happened since: whoever has stood by
/// and heard it speaks first, and tells it.
bool Voice::leaves_it_to_others(Nanos now) const {
  const bool was_left = view_.left() && view_.left()->name == before_ && view_.left_at() > before_created_;
  if (was_left || role_ == Role::alone || now - begun_ >= 2 * settings_.ttl + kSecond) return false;
  return std::any_of(view_.members().begin(), view_.members().end(), [this](const auto& one) {
    return one.first != settings_.name && one.second.well && one.second.feed == "own";
  });
}

bool Voice::can_read() {
  const bool can = view_.unreadable().empty();
  if (can_read_ && !can) world_.say(LogLevel::warning, "shared: " + trouble());
  return can_read_ = can;
}

void Voice::campaign() {
  const Nanos now = world_.boot();
  if (campaigning_ || lease_ == 0 || now < not_before_ || lease_until_ - now < settings_.ttl / 4) return;
  if (!can_read()) return;
  if (leaves_it_to_others(now)) return;
  campaigning_ = true;
  LogRequest request;
  request.patience = patience();
  request.conditions.push_back({keys_.leader(), 0});
  request.writes.push_back({keys_.leader(), to_value(SharedSpeaker{settings_.name, world_.wall(), {}}), lease_});
  request.ranges.push_back({keys_.leader()});
  log_.ask(std::move(request), [this, alive = std::weak_ptr<int>(alive_)](const LogAnswer& answer) {
    if (alive.expired()) return;
    campaigning_ = false;
    if (answer.outcome == LogAnswer::Outcome::refused) return note_refusal(answer.words);
    const bool won = answer.is_done() && answer.held && !answer.pages.empty() && !answer.pages[0].entries.empty();
    if (won && !leaving_ && (role_ == Role::standing_by || role_ == Role::alone))
      win(answer.pages[0].entries.front().created);
  });
}

/// A log without room lets nobody lead, and everybody read: that is no reason for silence.
void Voice::note_refusal(const std::string& words) {
  refusal_ = words;
  if (refused_since_ != 0) return;
  refused_since_ = world_.boot();
  world_.say(LogLevel::warning, "shared: nobody speaks, and etcd does not let this machine: it " + words);
}

/// What the one before wrote is in the log now, and nothing of its can come after: it is read before a word is said.
void Voice::win(Revision token) {
  token_ = token;
  was_alone_ = role_ == Role::alone;
  set_role(Role::taking_over);
  if (!polling_) poll(world_.boot());
}

void Voice::lead() {
  Takeover takeover;
  takeover.was_alone = was_alone_;
  if (before_ != settings_.name) takeover.from = before_;
  takeover.heard = before_heard_;
  if (view_.left() && view_.left()->name == before_ && view_.left_at() > before_created_)
    takeover.how = view_.left()->how, takeover.unheard = view_.left()->unheard;
  before_ = settings_.name;
  set_role(Role::speaking);
  extend();
  world_.on_lead(takeover);
}

void Voice::lose(const std::string& why) {
  right_->take_away();
  token_ = 0;
  const bool was_heard = role_ != Role::standing_by;
  set_role(Role::standing_by);
  if (was_heard) world_.on_stand_by(why);
}

void Voice::go_alone(const std::string& why) {
  token_ = 0;
  set_role(Role::alone);
  alone_since_ = world_.boot();
  right_->set(SpeakingRight::kWithoutEnd);
  world_.say(LogLevel::error, "shared: " + why + "; this machine speaks alone, and may tell what another tells too");
  world_.on_alone();
}

void Voice::set_role(Role role) {
  if (role == role_) return;
  role_ = role;
  since_ = world_.wall();
}

/// A log that answers what is read, and refuses what is written, is in trouble until it takes something.
void Voice::note_trouble(const LogAnswer& answer, bool writes) {
  if (answer.is_done() && refuses_ && !writes) return;
  refuses_ = answer.outcome == LogAnswer::Outcome::refused;
  const std::string now = answer.is_done() ? std::string() : answer.words.empty() ? "no answer" : answer.words;
  if (now.empty() != trouble_.empty())
    world_.say(now.empty() ? LogLevel::info : LogLevel::warning, "shared: etcd " + (now.empty() ? "answers" : now));
  trouble_ = now;
}

std::string Voice::trouble() const {
  if (!trouble_.empty() || view_.unreadable().empty()) return trouble_;
  return view_.unreadable() + "; this machine does not lead";
}

// --- giving up ---

void Voice::step_down(const std::string& how, std::function<void(const std::string&)> then) {
  if (role_ != Role::speaking) return then("this machine does not speak");
  cease({settings_.name, world_.wall(), how}, std::move(then));
}

void Voice::cease(const SharedSpeaker& word, std::function<void(const std::string&)> then) {
  not_before_ = world_.boot() + kHandedOver;
  LogRequest request;
  request.patience = patience();
  request.conditions.push_back({keys_.leader(), token_});
  LogWrite remove{.key = keys_.leader(), .value = {}};
  remove.remove = true;
  request.writes.push_back(std::move(remove));
  request.writes.push_back({keys_.left(), to_value(word)});
  lose(word.how == "ended" ? "the program ends" : "it has handed over");
  log_.ask(std::move(request),
           [this, alive = std::weak_ptr<int>(alive_), then = std::move(then)](const LogAnswer& answer) {
             if (answer.is_done() && answer.held) return then("");
             if (answer.outcome != LogAnswer::Outcome::refused || alive.expired())
               return then("etcd has not confirmed it; this machine is silent all the same, another takes over");
             not_before_ = 0;  // the log has no room for another's word either: it finds itself leading still
             then("etcd " + answer.words + ": no other could take over; this machine goes on speaking");
           });
}

void Voice::leave(std::function<void()> then) {
  const auto revoke = [this, alive = std::weak_ptr<int>(alive_), then = std::move(then)](const std::string&) {
    if (alive.expired() || lease_ == 0) return then();
    LogRequest request;
    request.kind = LogRequest::Kind::revoke, request.lease = lease_, request.patience = patience();
    log_.ask(std::move(request), [then](const LogAnswer&) { then(); });
  };
  const bool led = role_ == Role::speaking;
  leaving_ = true;
  right_->take_away();
  if (led) step_down("ended", revoke);
  else revoke("");
}

}  // namespace brimwatch
