#include "journal/patient_keeper.h"

#include <iterator>
#include <utility>

namespace brimwatch {

WriterEvents PatientKeeper::events_of_keeper() {
  WriterEvents events;
  events.on_notices = [this](std::vector<NoticeRecord> notices, bool durable) {
    world_.post([this, notices = std::move(notices), durable]() mutable { on_notices(std::move(notices), durable); });
  };
  events.on_trouble = [this](const std::string& why) { world_.post([this, why] { on_trouble(why); }); };
  events.on_recovery = [this] { world_.post([this] { on_recovery(); }); };
  return events;
}

WriterCounters PatientKeeper::counters() const {
  WriterCounters all = keeper_->counters();
  all.coalesced += coalesced_, all.lost += lost_;
  return all;
}

void PatientKeeper::submit(JournalBatch batch, Done done) {
  if (hangs_) hold_back(std::move(batch), std::move(done));
  else hand_over(std::move(batch), std::move(done));
}

void PatientKeeper::hand_over(JournalBatch batch, Done done) {
  if (on_their_way_.empty()) asked_ = world_.steady();
  const std::uint64_t number = ++handed_over_;
  on_their_way_[number] = {batch.notices, std::move(done)};
  keeper_->submit(std::move(batch),
                  [this, number](bool durable) { world_.post([this, number, durable] { on_answer(number, durable); }); });
}

/// Told at once, kept when the disk answers.
void PatientKeeper::hold_back(JournalBatch batch, Done done) {
  world_.post([this, notices = batch.notices, done = std::move(done)]() mutable {
    if (!notices.empty()) world_.events.on_notices(std::move(notices), false);
    if (done) done(false);
  });
  kept_back_.add(std::move(batch));
  keep_bound();
}

void PatientKeeper::keep_bound() {
  if (kept_back_.rows() <= shrink_at_) return;
  coalesced_ += kept_back_.shrink();
  if (const std::uint64_t gone = kept_back_.drop_oldest_notices(kBacklogMost); gone > 0) {
    lost_ += gone;
    world_.trouble(LogLevel::error, "journal: too many notices wait for the disk; the oldest will not be kept");
  }
  shrink_at_ = kept_back_.rows() + kCoalesceFrom;
}

void PatientKeeper::on_beat() {
  const Nanos now = world_.steady();
  if (now - std::exchange(last_beat_, now) >= patience_.waits) asked_ = now;  // the computer slept, not the disk alone
  if (on_their_way_.empty()) return;
  if (!hangs_ && now - asked_ >= patience_.waits) give_up_waiting();
  if (hangs_ && !in_trouble_ && now - asked_ >= patience_.silent)
    on_trouble("the disk has not answered for " + std::to_string(patience_.silent / kSecond) + " s");
}

/// The thread that waits for the disk cannot be called back.
void PatientKeeper::give_up_waiting() {
  hangs_ = true;
  std::vector<NoticeRecord> notices;
  std::vector<Done> answers;
  for (auto& [number, one] : on_their_way_) {
    std::move(one.notices.begin(), one.notices.end(), std::back_inserter(notices));
    one.notices.clear();
    if (one.done) answers.push_back(std::exchange(one.done, {}));
  }
  if (!notices.empty()) world_.events.on_notices(std::move(notices), false);
  for (const Done& done : answers) done(false);
}

void PatientKeeper::on_answer(std::uint64_t number, bool durable) {
  const OnItsWay answered = std::move(on_their_way_.extract(number).mapped());
  asked_ = world_.steady();
  if (std::exchange(hangs_, false)) {
    hand_over_all();
    all_kept_with_ = handed_over_;
  }
  if (answered.done) answered.done(durable);
  if (all_kept_with_ == 0 || number < all_kept_with_) return;
  all_kept_with_ = 0;
  if (durable) on_recovery();  // else the keeper behind has said why, and will say when that is over
}

void PatientKeeper::hand_over_all() {
  while (!kept_back_.empty()) hand_over(kept_back_.take_front(), {});
  shrink_at_ = kCoalesceFrom;
}

void PatientKeeper::on_notices(std::vector<NoticeRecord> notices, bool durable) {
  if (durable) asked_ = world_.steady();  // the disk answers: what it says of the batch itself is on its way to us
  world_.events.on_notices(std::move(notices), durable);
}

void PatientKeeper::on_trouble(const std::string& why) {
  in_trouble_ = true;
  world_.events.on_trouble(why);
}

void PatientKeeper::on_recovery() {
  if (hangs_ || all_kept_with_ != 0) return;  // not all is kept yet
  in_trouble_ = false;
  world_.events.on_recovery();
}

}  // namespace brimwatch
