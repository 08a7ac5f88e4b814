#include "shared/shared_keeper.h"

#include <algorithm>
#include <iterator>
#include <utility>

#include "journal/batch.h"
#include "shared/may_come_twice.h"
#include "shared/newer_watch.h"
#include "shared/same_event.h"
#include "shared/shared_row.h"

namespace brimwatch {
namespace {

constexpr Nanos kUploadEvery = 5 * kSecond;

const NoticeRecord* find_record(const std::vector<NoticeRecord>& all, const std::string& id) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const NoticeRecord& one) { return one.id == id; });
  return found == all.end() ? nullptr : &*found;
}

}  // namespace

SharedKeeper::SharedKeeper(VoiceSettings settings, BatchKeeper& local, SharedLog& log,
                           std::shared_ptr<SpeakingRight> right, House house, World world)
    : local_(local),
      log_(log),
      house_(std::move(house)),
      world_(std::move(world)),
      voice_(std::move(settings), log, std::move(right), world_of_voice()),
      held_(voice_.view(), voice_.settings().name, voice_.settings().ttl),
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
    own_watches_.forget_aside({state.symbol, state.pivot});
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
  this->adopt(adopt);
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
  held_.hold(std::move(undecided), world_.boot());
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
  for (const WatchState& state : batch.watches) own_watches_.note(state, world_.boot()), owed_.forget(state);
  for (const SymbolState& state : batch.symbols) owed_.add(state);
}

std::vector<NoticeRecord> SharedKeeper::to_tell(std::vector<NoticeRecord> written) const {
  std::erase_if(written, [this](const NoticeRecord& record) { return of_others_.contains(record.id); });
  return written;
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
  take_put_aside();
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

SharedKeeper::Counters SharedKeeper::shared_counters() const {
  Counters all = counters_;
  const HeldNotices::Counters& held = held_.counters();
  all.held = held.held, all.told_by_others = held.told_by_others;
  all.dropped = held.dropped + owed_.dropped() + uploads_.dropped();
  return all;
}

SharedRow SharedKeeper::row() const {
  SharedRow row = row_of(voice_);
  row.answers_waiting = answers_.waiting();
  const Counters counters = shared_counters();
  row.counters = {{"held", counters.held},
                  {"told by others", counters.told_by_others},
                  {"told after", counters.told_after},
                  {"fenced", counters.fenced},
                  {"alone", counters.alone},
                  {"uploaded", counters.uploaded},
                  {"dropped", counters.dropped}};
  return row;
}

}  // namespace brimwatch
