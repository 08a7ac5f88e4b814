#include "shared/shared_keeper.h"

#include <algorithm>
#include <iterator>
#include <utility>

#include "journal/batch.h"
#include "shared/newer_watch.h"

namespace brimwatch {
namespace {

constexpr Nanos kFeedsApart = 3 * kSecond;  ///< one machine's feed may be so far behind another's
constexpr Nanos kUploadEvery = 5 * kSecond;
constexpr Nanos kAway = 2 * kSecond;  ///< without a word from the log
constexpr Nanos kOneEvent = 30 * kSecond;
constexpr std::string_view kMayComeTwice = "another machine may tell this too.";

const NoticeRecord* find_record(const std::vector<NoticeRecord>& all, const std::string& id) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const NoticeRecord& one) { return one.id == id; });
  return found == all.end() ? nullptr : &*found;
}

/// Of a watch's own price, by exchange time: two feeds give one event within seconds. A speaker that took over from one
/// that was alone counts from before, and comes to numbers that are taken.
bool is_another_event(const NoticeRecord& there, const NoticeRecord& ours) {
  const NoticeKind kind = ours.notice.kind;
  if (kind == NoticeKind::opened_over) return false;  // once a day, whenever its machine began
  return is_urgent(kind) && std::abs(there.notice.time - ours.notice.time) > kOneEvent;
}

/// The same with the next number in its id.
NoticeRecord with_next_number(NoticeRecord record) {
  const std::size_t number = record.id.rfind('/') + 1;
  record.id = record.id.substr(0, number) + std::to_string(std::atoi(record.id.c_str() + number) + 1);
  ++record.notice.count;
  return record;
}

/// As a line of its own, once.
void add_mark(std::string& text, const std::string& who) {
  if (text.find(kMayComeTwice) != std::string::npos) return;
  const bool ends_line = text.empty() || text.back() == '\n';
  text.append(ends_line ? "" : "\n").append("          ").append(who).append(kMayComeTwice).append(ends_line ? "\n" : "");
}

}  // namespace

void mark_as_alone(std::string& text, const std::string& member) { add_mark(text, member + " speaks alone; "); }

void mark_as_alone(NoticeRecord& record, const std::string& member) { mark_as_alone(record.text, member); }

void mark_as_heard_alone(NoticeRecord& record, const std::string& member) {
  add_mark(record.text, "Only " + member + " has heard this; ");
}

SharedKeeper::SharedKeeper(VoiceSettings settings, BatchKeeper& local, SharedLog& log,
                           std::shared_ptr<SpeakingRight> right, House house, World world)
    : local_(local),
      log_(log),
      house_(std::move(house)),
      world_(std::move(world)),
      voice_(std::move(settings), log, std::move(right), world_of_voice()),
      answers_(voice_, log, world_of_answers()) {}

SharedAnswers::World SharedKeeper::world_of_answers() {
  return {.boot = world_.boot,
          .wall = world_.wall,
          .say = world_.say,
          .take =
              [this](std::vector<Answer> answers) {
                if (house_.take_answers) house_.take_answers(std::move(answers));
              },
          .take_again =
              [this](const Answer& answer) {
                if (house_.take_again) house_.take_again(answer);
              }};
}

Voice::World SharedKeeper::world_of_voice() {
  return {.boot = world_.boot,
          .wall = world_.wall,
          .say = world_.say,
          .describe = world_.describe,
          .list = world_.list,
          .on_changes = [this](const SharedChanges& changes) { on_changes(changes); },
          .on_lead = [this](const Takeover& takeover) { on_lead(takeover); },
          .on_stand_by = [this](const std::string& why) { on_stand_by(why); },
          .on_alone = [this] { on_alone(); },
          .ask_directly = world_.ask_directly,
          .rules = world_.rules,
          .unheard = world_.unheard};
}

SharedMark SharedKeeper::mark() const { return {voice_.settings().name, voice_.token()}; }

void SharedKeeper::set_recipients(Recipients recipients) {
  recipients_ = recipients;
  local_.set_recipients(std::move(recipients));
}

std::vector<std::string> SharedKeeper::channels_of(const NoticeRecord& record) const {
  return recipients_ ? recipients_(record) : std::vector<std::string>();
}

// --- batches, one after the other ---

void SharedKeeper::submit(JournalBatch batch, Done done) {
  Submission one;
  one.rows = rows_of(batch);
  if (batch.day) day_ = *batch.day;
  one.batch = std::move(batch), one.done = std::move(done);
  waiting_rows_ += one.rows;
  queue_.push_back(std::move(one));
  go_on();
}

void SharedKeeper::go_on() {
  if (std::exchange(going_on_, true)) return;
  while (!queue_.empty() && !asking_) {
    Submission& one = queue_.front();
    const Role role = voice_.role();
    if (role == Role::unsure) break;
    const bool may_ask = role == Role::speaking || (!one.uploads.empty() && role == Role::standing_by);
    if (may_ask) {
      if (!one.planned) plan(one);
      if (!one.operations.empty()) {
        ask_next(one);
        break;
      }
    }
    Submission decided = std::move(queue_.front());
    queue_.pop_front();
    waiting_rows_ -= decided.rows;
    if (!decided.uploads.empty()) continue;  // what is not uploaded is still known to be
    if (decided.rows == 0) give_back(decided);
    if (role == Role::speaking) pass_on(std::move(decided));
    else if (role == Role::alone) pass_on_alone(std::move(decided));
    else pass_on_held_back(std::move(decided));
  }
  going_on_ = false;
}

void SharedKeeper::plan(Submission& one) {
  one.planned = true;
  const SharedWriter writer(voice_.keys(), mark(), voice_.format());
  if (one.pays) one.operations = payments(writer);
  if (!one.uploads.empty()) one.operations = upload_of(one.uploads);
  for (const DeliveryRow& row : one.batch.deliveries) owed_.forget(row), uploads_.note(row);
  for (const WatchState& state : one.batch.watches) owed_.forget(state);
  std::map<SharedView::WatchKey, const WatchState*> changed;
  for (const WatchState& state : one.batch.watches) {
    const auto known = voice_.view().watches().find({state.symbol, state.pivot});
    if (known == voice_.view().watches().end() || !(known->second == state))
      changed[{state.symbol, state.pivot}] = &state;
  }
  for (NoticeRecord& record : one.batch.notices) {
    record = numbered(std::move(record));
    if (find_record(one.taken, record.id) != nullptr || find_record(one.others, record.id) != nullptr) continue;
    const auto watch = changed.find({record.symbol, record.notice.pivot});
    const WatchState* const state = watch == changed.end() ? nullptr : watch->second;
    one.operations.push_back(writer.notice(record, state, channels_of(record)));
    if (state != nullptr) one.operations.back().watches.push_back(*state), changed.erase(watch);
  }
  std::vector<WatchState> rest;
  for (const auto& [key, state] : changed) rest.push_back(*state);
  for (SharedOperation& part : writer.watches(rest)) one.operations.push_back(std::move(part));
  for (SharedOperation& part : writer.deliveries(one.batch.deliveries)) one.operations.push_back(std::move(part));
  for (const SymbolState& state : one.batch.symbols) owed_.add(state);
}

/// Of what has no rows of its own: no other way leads to the log.
void SharedKeeper::give_back(Submission& one) {
  for (const SharedOperation& operation : std::exchange(one.operations, {})) owed_.give_back(operation);
}

void SharedKeeper::ask_next(Submission& one) {
  asking_ = true;
  if (!one.asked) one.asked = world_.boot();
  log_.ask(one.operations.front().request, [this, alive = std::weak_ptr<int>(alive_)](LogAnswer answer) {
    if (!alive.expired()) on_answer(std::move(answer));
  });
}

/// An answer that does not come is no answer: the same is asked again, and a transaction that was done before is seen by
/// what it left behind. Where none comes for long, while the log lets this machine lead, it is as if it had been refused:
/// no notice waits for ever.
void SharedKeeper::on_answer(LogAnswer answer) {
  asking_ = false;
  Submission& asked = queue_.front();
  const bool is_unknown = answer.outcome == LogAnswer::Outcome::unknown;
  if (is_unknown && world_.boot() - asked.asked.value_or(0) < kPatience) return;  // again at the next beat
  asked.asked.reset();
  const SharedOperation operation = std::move(asked.operations.front());
  asked.operations.pop_front();
  if (!answer.is_done() || answer.held) note_room(answer);
  if (!answer.is_done()) on_refused(operation);
  else if (answer.held) on_decided(operation, answer.revision);
  else on_not_held(operation, answer);
  go_on();
}

/// Said once, however often it is tried.
void SharedKeeper::note_room(const LogAnswer& answer) {
  const bool refuses = !answer.is_done();
  if (std::exchange(refuses_, refuses) == refuses) return;
  if (!refuses) world_.say(LogLevel::info, "shared: etcd takes what is written again; what it refused goes there");
  else world_.say(LogLevel::error, "shared: etcd " + answer.words + "; what it refuses is kept here and uploaded later");
}

/// A notice is told all the same, and as by one that is alone.
void SharedKeeper::on_refused(const SharedOperation& operation) {
  Submission& one = queue_.front();
  if (!one.uploads.empty()) return;  // it is still known to be uploaded
  owed_.give_back(operation);
  if (!operation.makes_notice()) return;
  NoticeRecord record = operation.notice.record;
  uploads_.add(record);
  mark_as_alone(record, voice_.settings().name);
  one.taken.push_back(std::move(record));
  ++counters_.alone;
}

void SharedKeeper::on_decided(const SharedOperation& operation, Revision at) {
  Submission& one = queue_.front();
  for (const SharedDelivery& delivery : operation.deliveries) voice_.view().note(delivery, at);
  for (const WatchState& state : operation.watches) {
    voice_.view().note(state, at);
    put_aside_.erase({state.symbol, state.pivot});
  }
  if (!operation.makes_notice()) return;
  voice_.view().note(operation.notice, at);
  if (one.uploads.empty()) return one.taken.push_back(operation.notice.record);
  for (const SharedDelivery& delivery : operation.deliveries) owed_.forget(delivery.row);
  uploads_.take(one.uploads);
  ++counters_.uploaded;
  // It may have stood by meanwhile, and have let go of what it was to send.
  if (voice_.leads()) house_.take_up(voice_.view().open_deliveries_of(one.uploads));
}

/// Another leads; or the notice is there already: ours, from an answer that was lost, or another's.
void SharedKeeper::on_not_held(const SharedOperation& operation, const LogAnswer& answer) {
  Submission& one = queue_.front();
  if (!one.uploads.empty()) return on_not_uploaded(one.uploads, answer);
  const LogPage* const leader = answer.pages.empty() ? nullptr : &answer.pages[0];
  const bool leads = leader != nullptr && !leader->entries.empty() && leader->entries[0].created == voice_.token();
  if (!leads) {
    ++counters_.fenced;
    if (one.rows == 0) give_back(one), owed_.give_back(operation);
    one.planned = false, one.operations.clear();
    if (voice_.role() == Role::speaking || voice_.role() == Role::unsure) voice_.on_fenced();
    return;
  }
  if (!operation.makes_notice() || answer.pages.size() < 2 || answer.pages[1].entries.empty()) return;
  const auto there = notice_from(answer.pages[1].entries[0].value, voice_.settings().reads);
  if (there && is_another_event(there->record, operation.notice.record)) return renumber(operation);
  // As it was done then: what became of its messages since is known.
  if (there && there->mark == operation.notice.mark) return on_decided(operation, answer.pages[1].entries[0].created);
  one.others.push_back(there ? there->record : operation.notice.record);
  settle(operation.watches);
}

/// The notice is another's. How its watch stands after it, this engine and the log are to agree on now, and not with the
/// watch's next change: it is as the one of them has it that has heard more.
void SharedKeeper::settle(const std::vector<WatchState>& ours) {
  std::vector<WatchState> write, adopt;
  for (const WatchState& state : ours) {
    const auto theirs = voice_.view().watches().find({state.symbol, state.pivot});
    const bool in_log = theirs != voice_.view().watches().end();
    if (!in_log || (theirs->second != state && !is_newer(theirs->second, state))) write.push_back(state);
    else if (theirs->second != state && !is_waiting(theirs->first, 1)) adopt.push_back(theirs->second);
  }
  const SharedWriter writer(voice_.keys(), mark(), voice_.format());
  for (SharedOperation& part : writer.watches(write)) queue_.front().operations.push_front(std::move(part));
  if (!adopt.empty()) house_.adopt(adopt);
}

/// With a number that no other event has which waits to be uploaded.
NoticeRecord SharedKeeper::numbered(NoticeRecord record) const {
  for (const NoticeRecord* waits = uploads_.record(record.id); waits != nullptr && is_another_event(*waits, record);
       waits = uploads_.record(record.id))
    record = with_next_number(std::move(record));
  return record;
}

/// Nothing is lost for a number that is taken.
void SharedKeeper::renumber(const SharedOperation& operation) {
  Submission& one = queue_.front();
  const NoticeRecord& old = operation.notice.record;
  const NoticeRecord record = with_next_number(old);
  std::replace_if(
      one.batch.notices.begin(), one.batch.notices.end(), [&](const NoticeRecord& each) { return each.id == old.id; },
      record);
  const SharedWriter writer(voice_.keys(), mark(), voice_.format());
  const WatchState* const state = operation.watches.empty() ? nullptr : &operation.watches.front();
  one.operations.push_front(writer.notice(record, state, channels_of(record)));
  one.operations.front().watches = operation.watches;
}

void SharedKeeper::pass_on(Submission one) {
  for (const NoticeRecord& record : one.others) of_others_.insert(record.id);
  for (const NoticeRecord& record : one.taken) one.batch.speakers[record.id] = voice_.settings().name;
  one.batch.notices = std::move(one.taken);
  std::move(one.others.begin(), one.others.end(), std::back_inserter(one.batch.notices));
  local_.submit(std::move(one.batch), std::move(one.done));
}

/// What the log has taken of it before is the next speaker's to tell.
void SharedKeeper::pass_on_held_back(Submission one) {
  std::vector<NoticeRecord> in_log = std::move(one.taken), undecided;
  std::move(one.others.begin(), one.others.end(), std::back_inserter(in_log));
  for (NoticeRecord& record : one.batch.notices)
    if (find_record(in_log, record.id) == nullptr) undecided.push_back(std::move(record));
  for (const NoticeRecord& record : in_log) of_others_.insert(record.id);
  note_own_states(one.batch);
  hold(std::move(undecided));
  one.batch.notices = std::move(in_log);
  local_.submit(std::move(one.batch), std::move(one.done));
}

void SharedKeeper::pass_on_alone(Submission one) {
  note_own_states(one.batch);
  for (NoticeRecord& record : one.batch.notices) {
    if (find_record(one.taken, record.id) != nullptr || voice_.view().has_notice(record.id)) continue;
    uploads_.add(record);
    mark_as_alone(record, voice_.settings().name);
    one.batch.speakers[record.id] = voice_.settings().name;
    ++counters_.alone;
  }
  for (const DeliveryRow& row : one.batch.deliveries) {
    uploads_.note(row);
    if (uploads_.has(row.notice_id)) owed_.forget(row);
    else owed_.add(row);  // of a notice that is in the log
  }
  local_.submit(std::move(one.batch), std::move(one.done));
}

void SharedKeeper::note_own_states(const JournalBatch& batch) {
  for (const WatchState& state : batch.watches) {
    OwnWatch& own = own_watches_[{state.symbol, state.pivot}];
    own.state = state, own.at = world_.boot();
    owed_.forget(state);
  }
  for (const SymbolState& state : batch.symbols) owed_.add(state);
}

void SharedKeeper::hold(std::vector<NoticeRecord> notices) {
  for (NoticeRecord& record : notices) {
    ++counters_.held;
    if (voice_.view().has_notice(record.id)) ++counters_.told_by_others;
    else held_.push_back({std::move(record), world_.boot()});
  }
  for (; held_.size() > kHeldMost; held_.pop_front()) ++counters_.dropped;
}

std::vector<NoticeRecord> SharedKeeper::to_tell(std::vector<NoticeRecord> written) const {
  std::erase_if(written, [this](const NoticeRecord& record) { return of_others_.contains(record.id); });
  return written;
}

// --- what the others do ---

void SharedKeeper::on_changes(const SharedChanges& changes) {
  look_at_told();
  const bool speaks = voice_.role() == Role::speaking || voice_.role() == Role::unsure;
  answers_.on_changes(changes);  // before the watches, which may know what came of them
  JournalBatch batch;
  std::vector<NoticeRecord> heard;
  for (const SharedNotice& one : changes.notices) {
    if (speaks && one.mark == mark()) continue;  // of a commit whose answer is still awaited
    heard.push_back(one.record);
    if (one.mark.by == voice_.settings().name && renumbered_.contains(one.record.id)) continue;
    batch.notices.push_back(one.record);
    batch.speakers[one.record.id] = one.mark.by;
  }
  for (const SharedDelivery& one : changes.deliveries) {
    if (speaks && one.mark == mark()) continue;
    owed_.forget(one.row);
    batch.deliveries.push_back(one.row);
  }
  for (const NoticeRecord& record : heard) end_upload(record);
  store_of_others(std::move(batch));
  if (!heard.empty()) house_.hear(heard);
  if (speaks)
    for (const NoticeRecord& record : heard) house_.take_up(voice_.view().open_deliveries_of(record.id));
  if (speaks || voice_.role() == Role::alone) put_aside(changes.watches);
  else adopt_from_log(changes.watches);
  if (voice_.role() != Role::alone) take_uploaded(changes.notices);
  for (const SharedAcknowledgement& one : changes.acknowledgements)
    if (acknowledgements_to_upload_.erase(one.notice_id) == 0) house_.acknowledge(one.notice_id, one.at);
}

void SharedKeeper::remember(JournalMemory memory) {
  if (!memory.answers.empty()) answers_.begin_with(std::move(memory.answers));
  if (!memory.told.empty()) told_before_ = std::move(memory.told);
  std::erase_if(memory.watches, [this](const WatchState& state) {
    const auto theirs = voice_.view().watches().find({state.symbol, state.pivot});
    return theirs != voice_.view().watches().end() && !is_newer(state, theirs->second);
  });
  if (!memory.watches.empty()) {
    house_.adopt(memory.watches);
    if (!voice_.leads()) {
      watches_at_start_ = std::move(memory.watches);
    } else {
      JournalBatch batch;
      batch.watches = std::move(memory.watches);
      submit(std::move(batch), {});
    }
  }
  if (!memory.open.empty()) open_at_start_ = std::move(memory.open);
  if (voice_.role() == Role::alone && !voice_.has_read()) take_up_alone();
}

/// What it told before, and its log never got: it was alone, and ended before it could say so. Without them the next
/// notices would get their numbers, and what was open of them nobody would send.
void SharedKeeper::look_at_told() {
  if (!voice_.has_read()) return;
  for (const RememberedNotice& one : std::exchange(told_before_, {})) {
    if (voice_.view().has_notice(one.record.id)) continue;
    uploads_.add(one.record);
    for (const DeliveryRow& row : one.rows) uploads_.note(row);
  }
}

/// Of one that begins, the journal may know more than the log, which was away: that stays until another is known to lead.
void SharedKeeper::look_at_start() {
  for (WatchState& state : std::exchange(watches_at_start_, {})) {
    const SharedView::WatchKey key{state.symbol, state.pivot};
    const auto theirs = voice_.view().watches().find(key);
    const bool in_log = theirs != voice_.view().watches().end();
    if (in_log ? state != theirs->second : !state.past.empty())
      own_watches_.try_emplace(key, OwnWatch{std::move(state), world_.boot()});
  }
}

/// While another leads, or had led until now. What this engine has heard more of stays as it is until it is known who
/// leads next: see stays().
void SharedKeeper::adopt_from_log(const std::vector<WatchState>& changed) {
  look_at_start();
  std::vector<WatchState> adopt;
  for (const WatchState& state : changed) {
    owed_.forget(state), put_aside_.erase({state.symbol, state.pivot});
    const auto own = own_watches_.find({state.symbol, state.pivot});
    if (own != own_watches_.end() && is_newer(own->second.state, state)) continue;
    if (own != own_watches_.end()) own_watches_.erase(own);
    adopt.push_back(state);
  }
  if (!adopt.empty()) house_.adopt(adopt);
}

/// One that was alone has heard more of a watch than the log knows, and than this machine, which perhaps was not there.
void SharedKeeper::take_uploaded(const std::vector<SharedNotice>& notices) {
  JournalBatch batch;
  for (const SharedNotice& one : notices) {
    if (!one.watch) continue;
    const SharedView::WatchKey key{one.watch->symbol, one.watch->pivot};
    const auto in_log = voice_.view().watches().find(key);
    const auto own = own_watches_.find(key);
    const bool known = (in_log != voice_.view().watches().end() && !is_newer(*one.watch, in_log->second)) ||
                       (own != own_watches_.end() && !is_newer(*one.watch, own->second.state));
    if (!known && !is_waiting(key)) batch.watches.push_back(*one.watch);
  }
  if (batch.watches.empty()) return;
  coalesce(batch);
  house_.adopt(batch.watches);
  // Who leads writes it; who does not, knows it when it is to lead.
  submit(std::move(batch), {});
}

/// This machine speaks, or did until now: what the log has of it is looked at when it is known who does.
void SharedKeeper::put_aside(const std::vector<WatchState>& changed) {
  for (const WatchState& state : changed) put_aside_.insert({state.symbol, state.pivot});
}

/// Another speaks after all. Of what this engine has heard since, the newer stays; see stays() for when it is to speak.
void SharedKeeper::adopt_put_aside() {
  if (put_aside_.empty() || voice_.role() != Role::standing_by || !queue_.empty()) return;
  std::vector<WatchState> adopt;
  for (auto& [key, state] : not_adopted()) {
    const auto own = own_watches_.find(key);
    if (own != own_watches_.end() && !is_newer(state, own->second.state)) continue;
    if (own != own_watches_.end()) own_watches_.erase(own);
    adopt.push_back(state);
  }
  if (!adopt.empty()) house_.adopt(adopt);
}

/// As the log has them, and this engine not, as far as it knows nothing newer.
std::map<SharedView::WatchKey, WatchState> SharedKeeper::not_adopted() {
  std::map<SharedView::WatchKey, WatchState> found;
  for (const auto& key : std::exchange(put_aside_, {})) {
    const auto theirs = voice_.view().watches().find(key);
    const WatchState* const owed = owed_.watch(key);
    if (theirs == voice_.view().watches().end() || is_waiting(key)) continue;
    if (owed == nullptr || is_newer(theirs->second, *owed)) found.insert(*theirs);
  }
  return found;
}

/// A batch that waits has it; `after` so many.
bool SharedKeeper::is_waiting(const SharedView::WatchKey& key, std::ptrdiff_t after) const {
  return std::any_of(queue_.begin() + after, queue_.end(), [&](const Submission& one) {
    return std::any_of(one.batch.watches.begin(), one.batch.watches.end(),
                       [&](const WatchState& state) { return state.symbol == key.first && state.pivot == key.second; });
  });
}

/// Kept in this machine's journal, and never told by it unless it takes their deliveries up.
void SharedKeeper::store_of_others(JournalBatch batch) {
  if (batch.empty()) return;
  for (const NoticeRecord& record : batch.notices) {
    of_others_.insert(record.id);
    counters_.told_by_others += std::erase_if(held_, [&](const Held& held) { return held.record.id == record.id; });
  }
  local_.submit(std::move(batch), {});
}

// --- taking over, and giving up ---

/// What this machine has heard and the one that speaks has not (a print that its feed lacks, a time in which it was not
/// there, or was blind) is not lost: it goes to the log, for the one that speaks to tell.
void SharedKeeper::look_at_held() {
  const bool reads = voice_.role() == Role::standing_by && voice_.unreached() < kAway && voice_.view().leader();
  if (!reads) return;
  const Nanos now = world_.boot();
  while (!held_.empty() && now - held_.front().at >= kTellAfter) {
    Held held = std::move(held_.front());
    held_.pop_front();
    if (now - held.at >= kHeldFor || !is_unheard_of(held.record)) {
      ++counters_.dropped;
      continue;
    }
    mark_as_heard_alone(held.record, voice_.settings().name);
    uploads_.add(held.record);
    const auto own = own_watches_.find({held.record.symbol, held.record.notice.pivot});
    if (own != own_watches_.end()) own->second.brought = true;
    ++counters_.alone;
  }
}

/// At a takeover: too old to be from the other's silence, and too young for look_at_held() to have asked after it.
/// Whoever was heard to speak without the log has told it.
bool SharedKeeper::may_be_unheard(const Held& held) const {
  const bool is_young = world_.boot() - held.at < voice_.settings().ttl + 2 * kTellAfter;
  const bool spoke_alone = voice_.other_seen() > voice_.other_led();
  return is_young && !spoke_alone && is_unheard_of(held.record);
}

/// The log has neither it nor its watch as it was then or later.
bool SharedKeeper::is_unheard_of(const NoticeRecord& record) const {
  if (!is_urgent(record.notice.kind) || voice_.view().has_notice(record.id)) return false;
  const auto theirs = voice_.view().watches().find({record.symbol, record.notice.pivot});
  return theirs == voice_.view().watches().end() || last_heard(theirs->second) < record.notice.time;
}

void SharedKeeper::on_lead(const Takeover& takeover) {
  world_.say(LogLevel::info, "shared: this machine speaks");
  look_at_told();
  house_.speak(voice_.view().open_deliveries());
  release_held(takeover);
  upload();
  if (!takeover.from.empty()) house_.took_over(takeover);
  go_on();
}

/// Whether a watch stays as this engine has it. Sides and counts are those of the one before; but what this engine has
/// heard when that one led no more, in the log, is newer, and stays. So it does where both count the same: what is
/// different here (a watch that is armed again) the one before had not written yet.
bool SharedKeeper::stays(const OwnWatch& own, bool is_told, const Takeover& takeover) const {
  const auto found = voice_.view().watches().find({own.state.symbol, own.state.pivot});
  if (is_told || found == voice_.view().watches().end()) return true;
  const WatchState& theirs = found->second;
  if (is_newer(theirs, own.state)) return false;
  const Nanos since = voice_.other_led() - voice_.settings().ttl - kFeedsApart - takeover.unheard;
  const bool agrees = theirs.day == own.state.day && theirs.counts == own.state.counts;
  return takeover.was_alone || own.brought || agrees || (own.at >= since && is_newer(own.state, theirs));
}

/// Where this engine has seen something in the last seconds that nobody has told, it was right after the one before fell
/// silent: it is told, and its watch stays as it is here.
void SharedKeeper::release_held(const Takeover& takeover) {
  const Nanos since = voice_.other_seen() - voice_.settings().ttl - kFeedsApart - takeover.unheard;
  JournalBatch batch;
  std::set<SharedView::WatchKey> told;
  for (Held& held : std::exchange(held_, {})) {
    const bool is_unheard = held.at < since && may_be_unheard(held);
    if ((held.at < since && !is_unheard) || voice_.view().has_notice(held.record.id)) {
      ++counters_.dropped;
      continue;
    }
    if (is_unheard) mark_as_heard_alone(held.record, voice_.settings().name);
    told.insert({held.record.symbol, held.record.notice.pivot});
    batch.notices.push_back(std::move(held.record));
    ++counters_.told_after;
  }
  look_at_start();
  // One whose feed begins only now has heard nothing of the other watches: they are as the log has them.
  if (house_.begin_feed)
    for (const auto& [key, state] : voice_.view().watches()) put_aside_.insert(key);
  std::map<SharedView::WatchKey, WatchState> adopt = not_adopted();
  for (const auto& [key, own] : std::exchange(own_watches_, {})) {
    if (stays(own, told.contains(key), takeover)) batch.watches.push_back(own.state), adopt.erase(key);
    else adopt[key] = voice_.view().watches().at(key);
  }
  std::vector<WatchState> from_log;
  for (auto& [key, state] : adopt) from_log.push_back(std::move(state));
  if (!from_log.empty()) house_.adopt(from_log);
  if (house_.begin_feed) {
    std::vector<SymbolState> states;
    for (const auto& [symbol, state] : voice_.view().states()) states.push_back(state);
    house_.begin_feed(std::move(states));
  }
  if (house_.mute_again)
    for (const Answer& mute : answers_.mutes_to_give_again()) house_.mute_again(mute);
  if (!batch.empty()) submit(std::move(batch), {});
}

void SharedKeeper::on_stand_by(const std::string& why) {
  world_.say(LogLevel::info, "shared: this machine stands by: " + why);
  house_.stand_by();
  upload();
  go_on();
}

/// Before the log has been read, this machine's own journal is all that is known of what is open.
void SharedKeeper::take_up_alone() {
  std::vector<OpenDelivery> open = voice_.view().open_deliveries();
  if (open.empty()) open = std::exchange(open_at_start_, {});
  // Who speaks by the log meanwhile takes up the same.
  for (OpenDelivery& one : open) mark_as_alone(one.record, voice_.settings().name);
  house_.speak(std::move(open));
}

void SharedKeeper::on_alone() {
  take_up_alone();
  if (house_.begin_feed) house_.begin_feed({});
  JournalBatch batch;
  const Nanos since = voice_.other_seen() - voice_.settings().ttl - kFeedsApart;
  for (Held& held : std::exchange(held_, {})) {
    if (held.at >= since) batch.notices.push_back(std::move(held.record)), ++counters_.told_after;
    else ++counters_.dropped;
  }
  if (!batch.empty()) submit(std::move(batch), {});
  go_on();
}

void SharedKeeper::upload() {
  uploaded_at_ = world_.boot();
  for (const std::string& id : uploads_.ids()) {
    const auto is_same = [&id](const Submission& one) { return one.uploads == id; };
    if (std::any_of(queue_.begin(), queue_.end(), is_same)) continue;
    Submission one;
    one.uploads = id;
    queue_.push_back(std::move(one));
  }
  for (const std::string& id : std::exchange(acknowledgements_to_upload_, {})) acknowledge(id, world_.wall());
}

/// As it is known when its turn comes.
std::deque<SharedOperation> SharedKeeper::upload_of(const std::string& id) const {
  const NoticeRecord* const record = uploads_.record(id);
  if (record == nullptr) return {};
  const SharedWriter writer(voice_.keys(), {voice_.settings().name, 0}, voice_.format());
  const SharedView::WatchKey key{record->symbol, record->notice.pivot};
  const auto own = own_watches_.find(key);
  const WatchState* const state = own == own_watches_.end() ? owed_.watch(key) : &own->second.state;
  return {writer.upload(*record, uploads_.rows(id, channels_of(*record)), state)};
}

void SharedKeeper::on_not_uploaded(const std::string& id, const LogAnswer& answer) {
  const LogPage* const page = answer.pages.empty() ? nullptr : &answer.pages[0];
  if (page == nullptr || page->entries.empty()) return;  // again
  const auto there = notice_from(page->entries[0].value, voice_.settings().reads);
  if (there) end_upload(there->record);
  else uploads_.take(id);
}

/// The log has that notice from another: what has come of it here, whoever speaks is to know. Or it has another event
/// under its number: then it goes there with the next.
void SharedKeeper::end_upload(const NoticeRecord& there) {
  const NoticeRecord* const ours = uploads_.record(there.id);
  if (ours == nullptr) return;
  if (is_another_event(there, *ours)) return upload_as_next(*ours);
  for (const DeliveryRow& row : uploads_.take(there.id))
    if (row.done.is_set() && !voice_.view().is_done(row)) owed_.add(row);
}

void SharedKeeper::upload_as_next(NoticeRecord record) {
  const std::string taken = record.id;
  std::vector<DeliveryRow> rows = uploads_.take(taken);
  while (voice_.view().has_notice(record.id) || uploads_.has(record.id)) record = with_next_number(std::move(record));
  uploads_.add(record), renumbered_.insert(record.id);
  for (DeliveryRow& row : rows) row.notice_id = record.id, uploads_.note(row);
  if (house_.give_up_number) house_.give_up_number(taken);
  if (voice_.leads()) house_.take_up(voice_.view().open_deliveries_of(taken));
}

// --- time ---

void SharedKeeper::on_beat() {
  voice_.on_beat();
  look_at_told();
  const Nanos now = world_.boot();
  const bool reached = voice_.role() == Role::speaking || voice_.role() == Role::standing_by;
  const bool owes = !uploads_.is_empty() || !acknowledgements_to_upload_.empty();
  if (reached && owes && now - uploaded_at_ >= kUploadEvery) upload();
  answers_.on_beat();
  look_at_held();
  if (voice_.leads()) write_states();
  adopt_put_aside();
  if (voice_.leads() && !owed_.is_empty() && now - owed_asked_ >= kUploadEvery) pay_owed();
  go_on();
}

/// What etcd had no room for, again: the next to speak must know which messages have arrived. What it is, is seen when
/// its turn comes: what goes before it may be newer.
void SharedKeeper::pay_owed() {
  owed_asked_ = world_.boot();
  if (std::any_of(queue_.begin(), queue_.end(), [](const Submission& one) { return one.pays; })) return;
  Submission one;
  one.pays = true;
  queue_.push_back(std::move(one));
}

std::deque<SharedOperation> SharedKeeper::payments(const SharedWriter& writer) {
  std::vector<WatchState> watches = owed_.take_watches();
  std::erase_if(watches, [this](const WatchState& state) {
    const auto theirs = voice_.view().watches().find({state.symbol, state.pivot});
    return theirs != voice_.view().watches().end() && (theirs->second == state || is_newer(theirs->second, state));
  });
  std::deque<SharedOperation> parts;
  for (SharedOperation& part : writer.watches(watches)) parts.push_back(std::move(part));
  for (SharedOperation& part : writer.deliveries(owed_.take_deliveries())) parts.push_back(std::move(part));
  return parts;
}

/// Once a minute, where somebody begins its feed with them; and what is old goes, once a day.
void SharedKeeper::write_states() {
  const Nanos now = world_.boot();
  const SharedWriter writer(voice_.keys(), mark(), voice_.format());
  Submission one;
  one.planned = true;
  if (now - states_written_ >= kStatesEvery && voice_.view().wants_states()) {
    states_written_ = now;
    for (SharedOperation& part : writer.states(owed_.take_symbols())) one.operations.push_back(std::move(part));
  }
  // The exchange's day of what is written, which may be a past one that is played; never later than ours.
  const Date today = std::min(day_, Date{static_cast<std::int32_t>(world_.wall().ns / kDayNanos)});
  if (day_ != Date{} && today != forgotten_) {
    forgotten_ = today;
    const Date first = today - kDaysKept, first_answers = today - SharedAnswers::kDaysKept;
    one.operations.push_back(writer.forget_before(first, first_answers));
    voice_.view().forget_before(first);
    voice_.view().forget_answers_before(first_answers);
    of_others_.erase(of_others_.begin(), of_others_.lower_bound(first_id_of(first)));
  }
  if (one.operations.empty()) return;
  queue_.push_back(std::move(one));
}

// --- people ---

void SharedKeeper::acknowledge(const std::string& notice_id, Timestamp at) {
  if (voice_.view().has_acknowledgement(notice_id)) return;
  acknowledgements_to_upload_.insert(notice_id);
  SharedOperation operation = acknowledgement(voice_.keys(), {notice_id, voice_.settings().name, at});
  log_.ask(std::move(operation.request), [this, alive = std::weak_ptr<int>(alive_), notice_id](const LogAnswer& answer) {
    if (alive.expired() || !answer.is_done()) return;
    acknowledgements_to_upload_.erase(notice_id);
    voice_.view().note_acknowledged(notice_id);
  });
}

void SharedKeeper::acknowledged_here(const std::vector<std::string>& ids, Timestamp at) {
  for (const std::string& id : ids) acknowledge(id, at);
}

SharedRow SharedKeeper::row() const {
  SharedRow row;
  const VoiceSettings& settings = voice_.settings();
  row.on = true, row.name = settings.name, row.house = settings.house;
  row.role = to_string(voice_.role()), row.since = voice_.since(), row.trouble = voice_.trouble();
  row.silent_seconds = static_cast<double>(voice_.unreached()) / 1e9;
  if (const auto& speaker = voice_.view().speaker()) row.speaker = speaker->name, row.speaks_since = speaker->since;
  const auto& members = voice_.view().members();
  const auto own = members.find(settings.name);
  for (const auto& [name, member] : members) {
    SharedMemberRow one{.name = name, .version = member.version, .feed = member.feed, .trouble = member.trouble};
    one.speaks = name == row.speaker, one.well = member.well, one.watches = member.watches;
    one.same_list = own == members.end() || own->second.list == member.list;
    one.same_rules = own == members.end() || member.rules.empty() || own->second.rules == member.rules;
    one.direct = member.direct;
    const auto heard = voice_.direct().heard().find(name);
    if (heard != voice_.direct().heard().end()) one.answered = heard->second.role;
    const auto off = voice_.clocks_off().find(name);
    if (off != voice_.clocks_off().end()) one.clock_off = static_cast<double>(off->second) / 1e9;
    row.members.push_back(std::move(one));
  }
  row.answers_waiting = answers_.waiting();
  row.counters = {{"held", counters_.held},
                  {"told by others", counters_.told_by_others},
                  {"told after", counters_.told_after},
                  {"fenced", counters_.fenced},
                  {"alone", counters_.alone},
                  {"uploaded", counters_.uploaded},
                  {"dropped", counters_.dropped + owed_.dropped() + uploads_.dropped()}};
  return row;
}

}  // namespace brimwatch
