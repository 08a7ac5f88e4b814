// The house's ear: what people say back. Every answer, whatever way it came, enters by House::answer() or, from the log
// that several machines share, by House::take_answers(); both end in put_in_force().
//
// One after the other. What changes a list is laid out aside first, so that the feed waits for little; then it is put in
// force, becomes a row of the journal with the engine's state in one transaction, and whoever asked hears that it is
// kept.
#include <algorithm>
#include <cctype>
#include <set>
#include <utility>

#include "answers/lists.h"
#include "core/text/text.h"
#include "live/house.h"

namespace brimwatch {
namespace {

bool changes_lists(AnswerKind kind) { return kind == AnswerKind::add || kind == AnswerKind::drop; }
bool is_of_holdings(AnswerKind kind) { return kind == AnswerKind::bought || kind == AnswerKind::sold; }

constexpr std::size_t kAnswersWaitMost = 64;

/// Not as a part of another word.
bool names_word(std::string_view text, std::string_view word) {
  const auto is_letter = [&](std::size_t i) {
    return i < text.size() && std::isalnum(static_cast<unsigned char>(text[i])) != 0;
  };
  for (std::size_t at = text.find(word); at != std::string_view::npos; at = text.find(word, at + 1)) {
    if ((at == 0 || !is_letter(at - 1)) && !is_letter(at + word.size())) return true;
  }
  return false;
}

std::string hex(std::uint64_t value) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string out;
  for (; value > 0; value >>= 4) out.insert(out.begin(), kDigits[value & 15]);
  return out.empty() ? "0" : out;
}

}  // namespace

void House::answer(const AnswerRequest& request, AnswerReply reply) {
  if (!stage_.is_up()) return reply(fail("the program is not ready, or ends; nothing was changed"));
  if (const std::string& trouble = keeping_.trouble(); !trouble.empty())
    return reply(fail("an answer that cannot be kept is none: " + trouble + "; nothing was changed"));
  if (asked_.size() >= kAnswersWaitMost) return reply(fail("too many answers wait; nothing was changed"));
  asked_.emplace_back(request, std::move(reply));
  go_on_with_answers();
}

void House::take_answer(Answer answer, AnswerReply reply) {
  if (answered_.book().knows(answer.id)) return reply(fail("this has been answered already; nothing was changed"));
  if (changes_lists(answer.kind)) return change_lists(std::move(answer), std::move(reply));
  put_in_force(answer, std::move(reply));
}

/// What all machines have comes before what is asked here: it is decided in the light of it.
void House::go_on_with_answers() {
  while (!shared_steps_.empty() && !changing_) next_shared_answer();
  next_answer();
}

void House::next_answer() {
  while (!asked_.empty() && !changing_ && !sharing_) {
    auto [request, reply] = std::move(asked_.front());
    asked_.pop_front();
    auto decided = decide(request, answer_scene());
    if (!decided) {
      reply(tl::unexpected(decided.error()));
      continue;
    }
    if (decided->id.empty())
      decided->id = hex(static_cast<std::uint64_t>(world_.wall().ns)) + "-" + hex(world_.seed & 0xFFFFFFU) + "-" +
                    hex(++answers_made_);
    if (world_.share && decided->kind != AnswerKind::acknowledge) share_answer(std::move(*decided), std::move(reply));
    else take_answer(std::move(*decided), std::move(reply));
  }
}

// --- of several machines ---

void House::share_answer(Answer answer, AnswerReply reply) {
  if (answered_.book().knows(answer.id)) return reply(fail("this has been answered already; nothing was changed"));
  sharing_ = true;
  shared_replies_[answer.id] = std::move(reply);
  const std::string id = answer.id;
  world_.share(answer, [this, id](const Status& shared) {
    sharing_ = false;
    const auto waits = shared_replies_.find(id);
    if (!shared && waits != shared_replies_.end()) {
      const AnswerReply told = std::move(waits->second);
      shared_replies_.erase(waits);
      told(tl::unexpected(shared.error()));
    }
    go_on_with_answers();
  });
}

void House::take_answers(std::vector<Answer> answers) {
  if (!stage_.is_up()) return;  // the next start reads them again
  std::set<std::string> known, touched;
  for (const SharedStep& step : shared_steps_) known.insert(step.answer.id);
  for (Answer& answer : answers) {
    const bool is_new = !known.contains(answer.id) && !answered_.book().knows(answer.id);
    if (!is_new && !touched.contains(answer.symbol)) continue;
    if (is_new) touched.insert(answer.symbol);
    shared_steps_.push_back({std::move(answer), !is_new});
  }
  go_on_with_answers();
}

void House::take_again(const Answer& answer) {
  if (!stage_.is_up()) return;
  shared_steps_.push_back({answer, true});
  go_on_with_answers();
}

void House::next_shared_answer() {
  SharedStep step = std::move(shared_steps_.front());
  shared_steps_.pop_front();
  if (step.again) return take_anew(std::move(step.answer));
  AnswerReply reply = [](const Result<AnswerDone>&) {};
  if (const auto waits = shared_replies_.find(step.answer.id); waits != shared_replies_.end())
    reply = std::move(waits->second), shared_replies_.erase(waits);
  const bool may_lack_watch = step.answer.kind == AnswerKind::bought && !watches(step.answer.symbol, step.answer.pivot);
  take_answer(std::move(step.answer), std::move(reply));
  if (may_lack_watch) lay_lists_again();  // another machine has another list: what is held is watched here too
}

bool House::watches(std::string_view symbol, Price pivot) const {
  const WatchList& all = desk_->settings().watches;
  for (std::size_t i = 0; i < all.size(); ++i)
    if (all.symbol(i) == symbol && all.pivot(i) == pivot) return true;
  return false;
}

void House::take_anew(Answer answer) {
  if (changes_lists(answer.kind))
    return change_lists(
        std::move(answer), [](const Result<AnswerDone>&) {}, true);
  answered_.take_again(answer, today_for_answers());
  keep_again(answer);
}

/// Its row takes its new place too, so that a restart makes the same of them.
void House::keep_again(const Answer& answer) {
  if (changes_lists(answer.kind) || is_of_holdings(answer.kind)) ++lists_;
  collector_.batch.answers.push_back(answer);
  keeping_.flush();
}

/// All machines have it, and this one's own lists or feeds stand against it: it stays an answer, and a person must know.
void House::keep_unlaid(const Answer& answer, AnswerReply reply, const std::string& why) {
  warn("an answer of " + answer.who + " is not in force on this machine: " + in_words(answer, answer_scene()) + ": " +
       why);
  put_in_force(answer, std::move(reply));
}

AnswerScene House::answer_scene() const {
  const Timestamp now = engine_now();
  const Calendar& calendar = desk_->main_calendar();
  const Date day = calendar.local_date(now);
  const Timestamp noon{(day + 1).days * kDayNanos + 12 * kHour};
  return {.settings = desk_->settings(),
          .book = answered_.book(),
          .wall = world_.wall(),
          .now = now,
          .day = day,
          .day_end = Timestamp{(day + 1).days * kDayNanos} - calendar.offset(noon).count() * kSecond,
          .offset = calendar.offset(now),
          .last_price = [this](std::string_view symbol) { return last_price(symbol); },
          .position = [this](const Holding& holding) { return answered_.position(holding, today_for_answers()); },
          .newest_notice = [this](std::string_view asked) { return newest_notice(asked); }};
}

/// Of today, or of the last close that is known; 0: nothing is.
Price House::last_price(std::string_view symbol) const {
  const WatchList& watches = desk_->settings().watches;
  for (std::uint32_t i = 0; i < watches.size(); ++i) {
    if (watches.symbol(i) != symbol) continue;
    const WatchView view = desk_->engine().view(i, engine_now());
    return view.last.is_set() ? view.last : desk_->last_close(i, desk_->main_calendar().local_date(engine_now()));
  }
  return {};
}

std::optional<std::string> House::newest_notice(std::string_view asked) const {
  const auto found = std::find_if(latest_.begin(), latest_.end(), [&](const NoticeRecord& one) {
    return one.id == asked || (one.symbol == asked && !asked.empty());
  });
  return found == latest_.end() ? std::nullopt : std::optional(found->id);
}

Date House::today_for_answers() const { return desk_->main_calendar().local_date(engine_now()); }

// --- lists ---

/// `again`: a known one takes effect anew.
void House::change_lists(Answer answer, AnswerReply reply, bool again) {
  AnswerBook next = answered_.book();
  if (again) next.take_again(answer);
  else next.take(answer);
  Settings settings = desk_->settings();
  lay_over(settings, next);
  changing_ = true;
  prepare(std::move(settings), [this, again, applied = applied_, answer = std::move(answer),
                                reply = std::move(reply)](ReadyDesk ready) mutable {
    changing_ = false;
    if (!stage_.is_up())
      return reply(fail(world_.share ? "the program ends; all machines have it, and the next start reads it"
                                     : "the program ends; nothing was changed"));
    if (ready.parts && applied != applied_)
      return change_lists(std::move(answer), std::move(reply), again);  // a reload came between
    const Status laid = ready.parts ? put_lists_in_force(std::move(*ready.parts))
                                    : fail(ready.parts.error().text + "; nothing was changed");
    if (!laid && world_.share) keep_unlaid(answer, std::move(reply), laid.error().text);
    else if (!laid) reply(tl::unexpected(laid.error()));
    else if (again) answered_.take_again(answer, today_for_answers()), keep_again(answer);
    else put_in_force(answer, std::move(reply));
    go_on_with_answers();
  });
}

void House::prepare(Settings settings, std::function<void(ReadyDesk)> then) {
  if (world_.prepare) return world_.prepare(std::move(settings), std::move(then));
  then({{}, Desk::prepare(std::move(settings)), 0});
}

Status House::put_lists_in_force(DeskParts parts) {
  auto ways = make_ways(parts.settings);
  if (!ways) return fail(ways.error().text + "; nothing was changed");
  desk_->apply(std::move(parts));
  ++applied_;
  if (today_ != Date{}) desk_->begin_day(today_);
  answered_.hold_stocks(today_for_answers());
  put_in_force(std::move(*ways));
  return {};
}

/// After a journal that could be read late, or a reload that was read before an answer came.
void House::lay_lists_again() {
  Settings settings = desk_->settings();
  lay_over(settings, answered_.book());
  prepare(std::move(settings), [this, applied = applied_](ReadyDesk ready) {
    if (!stage_.is_up()) return;
    if (applied != applied_) return lay_lists_again();
    Status done = ready.parts ? put_lists_in_force(std::move(*ready.parts)) : fail(ready.parts.error().text);
    if (!done) warn("what was added and dropped by answers is not in force: " + done.error().text);
  });
}

// --- in force ---

void House::put_in_force(const Answer& answer, AnswerReply reply) {
  if (!answered_.take(answer, today_for_answers()))
    return reply(fail("this has been answered already; nothing was changed"));
  if (changes_lists(answer.kind) || is_of_holdings(answer.kind)) ++lists_;
  const bool is_gone = answer.kind == AnswerKind::sold && answered_.book().holding(answer.symbol) == nullptr &&
                       only_held(desk_->settings(), answered_.book(), {answer.symbol, answer.pivot});
  if (answer.kind == AnswerKind::add) newest_add_ = answer, newest_add_at_ = world_.steady();
  acknowledge_with(answer);
  if (world_.on_answer) world_.on_answer(answer);
  world_.say(LogLevel::info, "answer by " + answer.who + ": " + in_words(answer, answer_scene()));
  replies_[answer.id] = {in_words(answer, answer_scene()), std::move(reply)};
  collector_.batch.answers.push_back(answer);
  keeping_.flush();
  pump();
  if (is_gone) lay_lists_again();
  if (world_.keep_list && changes_lists(answer.kind)) world_.keep_list(added_list(answered_.book()));
}

void House::acknowledge(const std::string& notice_id) {
  records_->acknowledge(notice_id, world_.wall(), [this, notice_id] { out_.on_acknowledged(notice_id), pump(); });
}

/// Whoever answers has seen what was told of that watch.
void House::acknowledge_with(const Answer& answer) {
  if (answer.kind == AnswerKind::acknowledge) {
    acknowledge(answer.notice);
    return out_.on_acknowledged(answer.notice);
  }
  for (const NoticeRecord& one : latest_) {
    if (one.symbol == answer.symbol && one.notice.pivot == answer.pivot) out_.on_acknowledged(one.id);
  }
}

/// A symbol that was added just now and that a source does not know: a person is there to hear it.
void House::on_feed_refusal(const std::string& feed, std::string_view text) {
  constexpr Nanos kJustNow = 30 * kSecond;
  const bool is_new = newest_add_at_ != 0 && world_.steady() - newest_add_at_ < kJustNow;
  if (!is_new || !names_word(text, newest_add_.symbol)) return;
  newest_add_at_ = 0;
  warn("feed " + feed + " does not take " + newest_add_.symbol + ", which was added just now: it said \"" +
       clean_line(text, 120) + "\"; unless another feed has it, nothing will be told of it (brimwatch watch drop " +
       newest_add_.symbol + ")");
}

/// From the journal: kept, or not.
void House::on_answers_kept(const std::vector<Answer>& answers, bool durable) {
  for (const Answer& answer : answers) {
    const auto found = replies_.find(answer.id);
    if (found == replies_.end()) continue;
    const auto [words, reply] = std::move(found->second);
    replies_.erase(found);
    if (durable) reply(AnswerDone{answer, words});
    else
      reply(fail(words +
                 "; but it is not kept yet: the journal cannot be written, and a restart before it can would forget it"));
  }
}

}  // namespace brimwatch
