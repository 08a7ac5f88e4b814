#include "live/journal_outbox.h"

#include <utility>

namespace brimwatch {

void JournalOutbox::do_without(const std::string& trouble) {
  trouble_ = trouble;
  without_ = true;
}

void JournalOutbox::flush() {
  if (writing_ == 0) write(false);
}

void JournalOutbox::write(bool all_states) {
  JournalBatch batch = world_.take_news();
  world_.add_states(batch, all_states);
  if (!batch.empty()) hand_over(std::move(batch));
  if (world_.handed_over) world_.handed_over();
}

void JournalOutbox::keep_deliveries(std::vector<DeliveryRow> rows, std::function<void()> then) {
  JournalBatch batch;
  batch.deliveries = std::move(rows);
  keeper_->submit(std::move(batch), [this, then = std::move(then)](bool) {
    world_.post([this, then] {
      if (then) then();
      if (world_.has_news()) flush();
    });
  });
}

void JournalOutbox::hand_over(JournalBatch batch) {
  ++writing_;
  std::vector<Answer> answers = batch.answers;
  keeper_->submit(std::move(batch), [this, answers = std::move(answers)](bool durable) {
    world_.post([this, answers, durable] { on_answer(answers, durable); });
  });
}

void JournalOutbox::on_answer(const std::vector<Answer>& answers, bool durable) {
  --writing_;
  if (world_.answered && !answers.empty()) world_.answered(answers, durable);
  if (world_.has_news()) flush();
}

/// Notices that went out while the journal could not be written come again when it can; they are not told twice.
void JournalOutbox::on_written(std::vector<NoticeRecord> written, bool durable) {
  std::erase_if(written, [&](const NoticeRecord& record) {
    return durable ? told_undurable_.erase(record.id) > 0 : !told_undurable_.insert(record.id).second;
  });
  world_.tell(std::move(written));
  if (durable && without_) say_journal("");
}

void JournalOutbox::on_journal(const std::string& trouble) {
  if (trouble.empty()) told_undurable_.clear();  // all of them have come again
  say_journal(trouble);
}

void JournalOutbox::say_journal(const std::string& trouble) {
  if (trouble == trouble_ || (without_ && !trouble.empty())) return;  // that much has been told
  without_ = without_ && !trouble.empty();
  trouble_ = trouble;
  world_.say(trouble.empty() ? LogLevel::info : LogLevel::error,
             trouble.empty() ? "journal: works again" : "journal: " + trouble);
  world_.tell_self_check(trouble.empty() ? "the journal works again; notices are kept"
                                         : "the journal cannot be written: " + trouble);
}

}  // namespace brimwatch
