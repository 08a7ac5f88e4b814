#include "live/journal_outbox.h"

#include <algorithm>
#include <utility>

#include "journal/backlog.h"
#include "journal/batch.h"

namespace brimwatch {
namespace {

constexpr Nanos kDiskPatience = 10 * kSecond;
constexpr const char* kNoAnswer = "the disk has not answered for 10 s";
constexpr std::size_t kCoalesceFrom = 10'000;  ///< rows

}  // namespace

void JournalOutbox::do_without(const std::string& trouble) {
  trouble_ = trouble;
  without_ = true;
}

void JournalOutbox::flush() {
  if (hangs_) hold_back_news();
  else if (writing_ == 0) write(false);
}

void JournalOutbox::write(bool all_states) {
  if (hangs_) hold_back_news();  // the end of the program: they are told, and handed over all the same
  JournalBatch batch = std::exchange(kept_back_, {});
  coalesce_at_ = 0;
  append(batch, world_.take_news());
  world_.add_states(batch, all_states);
  if (!batch.empty()) hand_over(std::move(batch), true, {});
  if (world_.handed_over) world_.handed_over();
}

void JournalOutbox::hold_back_news() {
  hold_back(world_.take_news());
  if (world_.handed_over) world_.handed_over();
}

void JournalOutbox::keep_deliveries(std::vector<DeliveryRow> rows, std::function<void()> then) {
  JournalBatch batch;
  batch.deliveries = std::move(rows);
  if (!hangs_) return hand_over(std::move(batch), false, std::move(then));
  hold_back(std::move(batch));
  world_.post(std::move(then));
}

void JournalOutbox::hand_over(JournalBatch batch, bool ours, std::function<void()> then) {
  if (on_their_way_.empty()) asked_ = world_.steady();
  const std::uint64_t number = ++handed_over_;
  on_their_way_[number] = {batch.notices, batch.answers, std::move(then), ours};
  if (ours) ++writing_;
  keeper_->submit(std::move(batch),
                  [this, number](bool durable) { world_.post([this, number, durable] { on_answer(number, durable); }); });
}

void JournalOutbox::on_answer(std::uint64_t number, bool durable) {
  const OnItsWay answered = std::move(on_their_way_.extract(number).mapped());
  asked_ = world_.steady();
  if (answered.ours) --writing_;
  if (std::exchange(hangs_, false)) {
    write_out();
    kept_again_with_ = handed_over_;
  }
  if (world_.answered && !answered.answers.empty()) world_.answered(answered.answers, durable);
  if (answered.then) answered.then();
  if (kept_again_with_ != 0 && number >= kept_again_with_) {
    kept_again_with_ = 0;
    if (durable) on_journal("");  // else the keeper has said why, and will say when that is over
  }
  if (world_.has_news()) flush();
}

void JournalOutbox::on_beat() {
  const Nanos now = world_.steady();
  if (now - std::exchange(last_beat_, now) >= kDiskPatience) asked_ = now;  // the computer slept, and not the disk alone
  if (!hangs_ && !on_their_way_.empty() && now - asked_ >= kDiskPatience) give_up_waiting();
}

/// The thread that waits for the disk cannot be called back: what it has is told and sent as if it could not be written.
void JournalOutbox::give_up_waiting() {
  hangs_ = true;
  if (trouble_.empty()) on_journal(kNoAnswer);
  std::vector<NoticeRecord> notices;
  std::vector<std::function<void()>> sends;
  for (auto& [number, one] : on_their_way_) {
    notices.insert(notices.end(), one.notices.begin(), one.notices.end());
    one.notices.clear();
    if (world_.answered && !one.answers.empty()) world_.answered(std::exchange(one.answers, {}), false);
    if (one.then) sends.push_back(std::exchange(one.then, {}));
  }
  for (const auto& send : sends) send();
  on_written(marked(std::move(notices)), false);
}

/// What hangs may hang before the log that several machines share has the notice; should this machine fall silent next,
/// another tells it again.
std::vector<NoticeRecord> JournalOutbox::marked(std::vector<NoticeRecord> notices) const {
  if (world_.mark_undecided) std::for_each(notices.begin(), notices.end(), world_.mark_undecided);
  return notices;
}

/// Told at once, kept when the disk answers. The engine's states stay where they are: only the newest are wanted then.
void JournalOutbox::hold_back(JournalBatch batch) {
  for (const NoticeRecord& record : batch.notices) told_undurable_.insert(record.id);
  if (!batch.notices.empty()) world_.post([this, notices = marked(batch.notices)] { world_.tell(notices); });
  if (world_.answered && !batch.answers.empty())
    world_.post([this, answers = batch.answers] { world_.answered(answers, false); });
  append(kept_back_, std::move(batch));
  if (rows_of(kept_back_) <= std::max(coalesce_at_, kCoalesceFrom)) return;
  coalesce(kept_back_);
  if (kept_back_.notices.size() > kBacklogMost) {
    const auto surplus = static_cast<std::ptrdiff_t>(kept_back_.notices.size() - kBacklogMost);
    kept_back_.notices.erase(kept_back_.notices.begin(), kept_back_.notices.begin() + surplus);
    world_.trouble(LogLevel::error, "journal: too many notices wait for the disk; the oldest will not be kept");
  }
  coalesce_at_ = rows_of(kept_back_) + kCoalesceFrom;
}

/// Notices that went out while the journal could not be written come again when it can; they are not told twice.
void JournalOutbox::on_written(std::vector<NoticeRecord> written, bool durable) {
  if (durable) asked_ = world_.steady();  // the disk answers: what it says of the batch itself is on its way to us
  std::erase_if(written, [&](const NoticeRecord& record) {
    return durable ? told_undurable_.erase(record.id) > 0 : !told_undurable_.insert(record.id).second;
  });
  world_.tell(std::move(written));
  if (durable && without_) on_journal("");
}

void JournalOutbox::on_journal(const std::string& trouble) {
  if (trouble == trouble_ || (without_ && !trouble.empty())) return;  // that much has been told
  if (trouble.empty() && (hangs_ || kept_again_with_ != 0)) return;   // not all is kept yet
  if (trouble.empty()) without_ = false, told_undurable_.clear();
  trouble_ = trouble;
  world_.say(trouble.empty() ? LogLevel::info : LogLevel::error,
             trouble.empty() ? "journal: works again" : "journal: " + trouble);
  world_.tell_self_check(trouble.empty() ? "the journal works again; notices are kept"
                                         : "the journal cannot be written: " + trouble);
}

}  // namespace brimwatch
