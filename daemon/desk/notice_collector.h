#pragma once
// Collects the engine's notices, worded, until they are committed.
#include <utility>

#include "desk/desk.h"
#include "engine/engine.h"
#include "journal/journal.h"

namespace brimwatch {

class NoticeCollector : public NoticeSink {
 public:
  explicit NoticeCollector(const Desk& desk) : desk_(desk) {}
  void on_notice(Notice&& notice) override {
    if (notice.kind == NoticeKind::day_end && !desk_.settings().life.day_end) return;  // its record is kept all the same
    batch.notices.push_back(desk_.word(std::move(notice)));
  }
  void on_day(const DayRecord& day) override { batch.days.push_back(day); }

  JournalBatch batch;  ///< taken by its owner

 private:
  const Desk& desk_;
};

}  // namespace brimwatch
