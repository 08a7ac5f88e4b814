// The house at its start: what the journal knows of before is taken up, then the feeds begin.
#include <algorithm>
#include <iterator>
#include <set>
#include <utility>

#include "answers/lists.h"
#include "desk/late_start.h"
#include "live/house.h"

namespace brimwatch {
namespace {

constexpr Nanos kWorthAHole = 2 * kSecond;

}  // namespace

std::vector<std::string> symbols_of(const Settings& settings) {
  const auto& symbols = settings.watches.symbols();
  std::vector<std::string> names(symbols.begin(), symbols.end());
  std::sort(names.begin(), names.end());
  return names;
}

void House::restore(RestoredState kept) {
  if (stage_.now() != Stage::starting) return;
  const AnswerBook book(kept.answers);
  if (!book.leaves_lists_alone()) {
    Settings settings = desk_->settings();
    lay_over(settings, book);
    if (const Status laid = desk_->apply(std::move(settings)); !laid) world_.say(LogLevel::error, laid.error().text);
  }
  take_up(std::move(kept));
}

void House::recover(RestoredState kept) {
  if (!stage_.may_go_to(Stage::running)) return;
  const bool late = stage_.now() == Stage::without_journal;
  stage_.go_to(Stage::running);
  if (late) leave_what_was_seen(kept);
  take_up(std::move(kept));
  if (!answered_.book().leaves_lists_alone()) lay_lists_again();
  pump();
}

/// A stock that has traded since the start stands where its trades have brought it: what was before does not go over
/// that.
void House::leave_what_was_seen(RestoredState& kept) const {
  std::set<std::string, std::less<>> seen;
  for (const SymbolState& state : desk_->engine().symbol_states())
    if (state.last.is_set()) seen.insert(state.symbol);  // a price of its own: the hole of the start touches all
  std::erase_if(kept.watches, [&](const WatchState& state) { return seen.contains(state.symbol); });
  std::erase_if(kept.symbols, [&](const SymbolState& state) { return seen.contains(state.symbol); });
}

void House::take_up(RestoredState kept) {
  desk_->histories().take_feed_days(std::move(kept.days));
  // Read at last, while the others have gone on: some of it is known from them, and stands in their order.
  const bool is_late = world_.stands_by && stage_.is_up();
  std::vector<Answer> unknown;
  if (is_late && !answered_.book().is_empty())
    std::copy_if(kept.answers.begin(), kept.answers.end(), std::back_inserter(unknown),
                 [this](const Answer& one) { return !answered_.book().knows(one.id); });
  else answered_.begin_with(AnswerBook(kept.answers), today_for_answers());
  if (!answered_.book().leaves_lists_alone()) ++lists_;  // a configuration that was laid out without it is laid again
  note_seen(kept.symbols);
  for (const SymbolState& state : kept.symbols) states_.go_on_from(state.all_kept_until);
  own_.go_on_from(kept.counts);
  desk_->engine().restore(is_late ? std::vector<WatchState>() : kept.watches, kept.symbols);
  if (!world_.stands_by) return out_.take_up(std::move(kept.open));
  memory_ = {std::move(kept.open), std::move(kept.watches), std::move(kept.answers), std::move(kept.told)};
  take_answers(std::move(unknown));
}

/// The states of a whole market are not all of one moment: blind we were since the one that all have reached.
void House::note_seen(const std::vector<SymbolState>& symbols) {
  Timestamp newest, all_kept;
  for (const SymbolState& state : symbols) {
    newest = std::max({newest, state.last_time, state.newest_outside});
    all_kept = std::max(all_kept, state.all_kept_until);
    resumption_.know(desk_->symbols().find(state.symbol), std::max(state.last_time, state.newest_outside));
  }
  const Timestamp seen = all_kept.is_set() ? all_kept : newest;  // a replay, and the daemon once, kept all at once
  seen_before_ = std::max(seen_before_, seen);
  resumption_.know_of_all(seen);
}

void House::do_without(const std::string& trouble) {
  if (!stage_.go_to(Stage::without_journal)) return;
  own_.go_on_unread(world_.wall(), desk_->main_calendar());
  keeping_.do_without(trouble);
  ++failed_starts_;
}

void House::start(BatchKeeper& keeper, Records& records) {
  if (stage_.now() == Stage::starting) stage_.go_to(Stage::running);
  keeping_.start(keeper);
  records_ = &records;
  started_ = world_.wall(), heard_at_ = world_.steady();
  configuration_.read = started_;
  keeper.set_recipients(out_.recipients());
  if (const std::string& trouble = keeping_.trouble(); !trouble.empty()) {
    world_.say(LogLevel::error, trouble);
    tell_self_check("notices are told and not kept, and what was told before this start may be told again: " + trouble);
  }
  feed_clock_.set_speed(speed_of(desk_->settings()));
  if (world_.feed_at_takeover) return;
  in_.set(desk_->settings().feeds, symbols_of(desk_->settings()), std::move(first_feeds_));
  tell_if_blind();
}

/// Before the first tick now we were blind: since the last one that the journal knows, when both are of one session; else
/// since the open, unless we have been here since before it. A played day is one of the past: nobody was there.
void House::fill_hole_of_start(const Tick& first) {
  const Date day = desk_->main_calendar().local_date(first.time);
  if (has_begun_ || day == begun_with_) return;
  begun_with_ = day;
  has_begun_ = !is_of_the_past(first);  // a source may send first what came last, on the day before
  const Session* session = desk_->main_calendar().of(first.time);
  if (session == nullptr) return;
  const bool was_here = seen_before_ >= session->open;
  if (!was_here && started_ <= session->open) return;
  const auto hole =
      was_here ? hole_before(first, seen_before_, kWorthAHole) : missed_since_open(first, desk_->main_calendar());
  if (!hole) return;
  give({&*hole, 1});
  const bool took_over = world_.feed_at_takeover;
  collector_.batch.holes.push_back(
      {took_over ? "takeover" : "restart", "", hole->time, first.time,
       took_over ? "this machine's feed begins when it takes over" : "the program was not running"});
}

}  // namespace brimwatch
