#include "shared/shared_answers.h"

#include <algorithm>
#include <utility>

namespace brimwatch {
namespace {

constexpr Nanos kAgainEvery = 5 * kSecond;  ///< what the log refuses is asked again

bool is_of_mutes(const Answer& answer) { return answer.kind == AnswerKind::mute || answer.kind == AnswerKind::unmute; }

}  // namespace

void SharedAnswers::give(Answer answer, Reply reply) {
  if (waiting_.size() >= kWaitingMost) return reply(fail("too many answers wait for etcd; nothing was changed"));
  waiting_.push_back({std::move(answer), std::move(reply), world_.boot()});
  go_on();
}

void SharedAnswers::on_beat() {
  if (!has_looked_ && voice_.has_read()) begin_upload();
  give_up_late();
  go_on();
}

/// Given alone before this start, or before there was [shared] at all. What a mute of long ago has come to, the watches
/// know: it is not said again.
void SharedAnswers::begin_upload() {
  has_looked_ = true;
  const Date today{static_cast<std::int32_t>(world_.wall().ns / kDayNanos)};
  const std::set<std::string> overtaken = stocks_new_to_journal();
  for (Answer& one : std::exchange(of_journal_, {})) {
    const Date first = is_of_mutes(one) ? today - 1 : today - kDaysKept;
    const bool goes = one.kind != AnswerKind::acknowledge && one.day >= first && !voice_.view().has_answer(one.id);
    const bool is_late = overtaken.contains(one.symbol);
    if (goes && waiting_.size() < kWaitingMost) waiting_.push_back({std::move(one), {}, 0, true, is_late});
  }
}

/// Of which the log had something that this journal had not.
std::set<std::string> SharedAnswers::stocks_new_to_journal() const {
  std::set<std::string> known, stocks;
  for (const Answer& one : of_journal_) known.insert(one.id);
  for (const auto& [when, answer] : voice_.view().answers())
    if (!known.contains(answer.id)) stocks.insert(answer.symbol);
  return stocks;
}

void SharedAnswers::go_on() {
  if (voice_.role() == Role::alone) return put_all_in_force();
  if (asking_ || waiting_.empty() || world_.boot() < not_before_) return;
  const bool is_reached = voice_.role() == Role::speaking || voice_.role() == Role::standing_by;
  if (waiting_.front().in_force && !is_reached) return;
  ask(waiting_.front());
}

/// By number: whoever hears a reply may give the next one.
void SharedAnswers::put_all_in_force() {
  for (std::size_t i = 0; i < waiting_.size(); ++i)
    if (!waiting_[i].in_force) put_in_force(waiting_[i]);
}

void SharedAnswers::put_in_force(Waiting& one) {
  one.in_force = true;
  take({one.answer});
  if (const Reply reply = std::exchange(one.reply, {})) reply({});
}

void SharedAnswers::ask(const Waiting& one) {
  asking_ = true;
  const SharedAnswer value{one.answer, voice_.settings().name};
  SharedOperation operation = answer_operation(voice_.keys(), value, voice_.read_up_to() + 1);
  log_.ask(std::move(operation.request),
           [this, alive = std::weak_ptr<int>(alive_), id = one.answer.id](LogAnswer answer) {
             if (!alive.expired()) on_answer(id, std::move(answer));
           });
}

/// An answer that does not come is no answer: the same is asked again, and is there already where it had been done.
void SharedAnswers::on_answer(const std::string& id, LogAnswer answer) {
  // What is given while it takes effect waits for its turn.
  if (answer.is_done() && !answer.pages.empty())
    take(voice_.view().apply(std::move(answer.pages.front().entries)).answers);
  asking_ = false;
  if (answer.outcome == LogAnswer::Outcome::unknown) return;  // again at the next beat
  const auto one =
      std::find_if(waiting_.begin(), waiting_.end(), [&](const Waiting& each) { return each.answer.id == id; });
  if (one == waiting_.end()) return;  // whoever asked was told that nobody knows
  if (!answer.is_done()) return on_refused(*one, answer.words);
  const Waiting done = std::move(*one);
  waiting_.erase(one);
  if (done.overtaken) world_.take_again(done.answer);
  if (done.reply) done.reply({});
  go_on();
}

/// No room, or no right. The one that speaks must hear its people all the same.
void SharedAnswers::on_refused(Waiting& one, const std::string& words) {
  not_before_ = world_.boot() + kAgainEvery;
  if (one.in_force) return;
  if (voice_.role() == Role::speaking) return put_in_force(one);
  const Reply reply = std::move(one.reply);
  std::erase_if(waiting_, [id = one.answer.id](const Waiting& each) { return each.answer.id == id; });
  if (reply) reply(fail("etcd " + words + "; nothing was changed"));
}

void SharedAnswers::give_up_late() {
  const Nanos now = world_.boot();
  const auto is_late = [&](const Waiting& one) { return !one.in_force && now - one.since >= kPatience; };
  for (auto late = std::find_if(waiting_.begin(), waiting_.end(), is_late); late != waiting_.end();
       late = std::find_if(waiting_.begin(), waiting_.end(), is_late)) {
    const Reply reply = std::move(late->reply);
    waiting_.erase(late);
    if (reply)
      reply(
          fail("etcd has not answered for 5 s: nobody knows whether it has taken this; look with `brimwatch now` "
               "before you give it again, or give it on the machine that speaks"));
  }
  std::erase_if(taken_at_, [&](const auto& one) { return now - one.second >= kJustNow; });
}

void SharedAnswers::take(const std::vector<Answer>& answers) {
  if (answers.empty()) return;
  if (has_looked_)  // the first reading brings those of long ago
    for (const Answer& one : answers) taken_at_.try_emplace(one.id, world_.boot());
  for (Waiting& waits : waiting_)
    for (const Answer& one : answers)
      waits.overtaken |= waits.in_force && one.symbol == waits.answer.symbol && one.id != waits.answer.id;
  world_.take(answers);
}

std::vector<Answer> SharedAnswers::mutes_to_give_again() const {
  std::vector<Answer> mutes;
  for (const auto& [when, answer] : voice_.view().answers()) {
    const Revision changed = voice_.view().changed({answer.symbol, answer.pivot});
    const bool is_newer = changed != 0 && when.first > changed;
    if (is_of_mutes(answer) && (is_newer || taken_at_.contains(answer.id))) mutes.push_back(answer);
  }
  return mutes;
}

std::size_t SharedAnswers::waiting() const {
  return static_cast<std::size_t>(
      std::count_if(waiting_.begin(), waiting_.end(), [](const Waiting& one) { return one.in_force; }));
}

}  // namespace brimwatch
