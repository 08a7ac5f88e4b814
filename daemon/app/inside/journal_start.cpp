// The journal at the start: opened and read off the loop, gone without where it cannot be.
#include <boost/asio/post.hpp>

#include "answers/lists.h"
#include "app/inside/impl.h"
#include "journal/open_files.h"
#include "journal/upkeep.h"

namespace brimwatch {

/// Old states go by upkeep, in steps; at a commit only where that has not come to it for a month.
JournalOptions Daemon::Impl::options_of(const KeepSettings& keep) {
  constexpr int kForEver = 1'000'000, kMonth = 30;
  JournalOptions options;
  options.tidied_apart = true;
  options.days_kept = keep.states == 0 ? kForEver : keep.states + kMonth;
  return options;
}

/// Any thread.
Result<Daemon::Impl::Opened> Daemon::Impl::open_and_read(const std::string& path, Date today,
                                                         const JournalOptions& options) {
  const bool unclean = ended_uncleanly(path);
  auto journal = Journal::open(path, options);
  if (!journal) return tl::unexpected(journal.error());
  auto kept = read_kept(**journal, today);
  if (!kept) return tl::unexpected(kept.error());
  return Opened{std::move(*journal), std::move(*kept), unclean};
}

/// Off the loop: another program may hold its lock, the disk may hang. The feeds wait ten seconds for it, no longer.
void Daemon::Impl::open_journal() {
  const Date today = house->desk().main_calendar().local_date(wall_now());
  const bool started = opening.start(
      [this, path = places.journal, today, options = options_of(house->desk().settings().keep)]() -> Worker::Answer {
        return [this, opened = std::make_shared<Result<Opened>>(open_and_read(path, today, options))] {
          if (*opened) begin(std::move(**opened));
          else begin_without(opened->error().text);
        };
      },
      [this] {
        begin_without("journal " + places.journal + ": no answer for 10 s (another program's lock, or the disk)");
      });
  if (!started) begin_without("journal " + places.journal + ": the system gives no thread to open it");
}

void Daemon::Impl::begin(Opened opened) {
  if (stopping) return;
  house->restore(std::move(opened.kept));
  make_writer(std::move(opened.journal));
  begin_life();
  keep_list(added_list(house->answers()));
  if (opened.unclean) look_through_journal();
}

/// A journal that cannot be used stays as it is; the writer goes on asking for it, and reads it before it writes.
void Daemon::Impl::begin_without(const std::string& trouble) {
  if (stopping) return;
  house->do_without(trouble);
  make_writer(nullptr);
  begin_life();
}

void Daemon::Impl::make_writer(std::unique_ptr<Journal> journal) {
  WriterEvents events;
  events.on_notices = [this](std::vector<NoticeRecord> written, bool durable) {
    asio::post(io, [this, written = std::move(written), durable]() mutable {
      if (shared != nullptr) written = shared->to_tell(std::move(written));
      house->on_written(std::move(written), durable);
    });
  };
  events.on_trouble = [this](const std::string& why) { asio::post(io, [this, why] { house->on_journal(why); }); };
  events.on_recovery = [this] { asio::post(io, [this] { house->on_journal(""); }); };
  const bool journal_is_read = journal != nullptr;
  writer = std::make_unique<JournalWriter>(
      std::move(journal),
      [this, is_read = journal_is_read, file = OpenFile::identity(places.journal), path = places.journal,
       calendar = house->desk().main_calendar_shared(), options = options_of(house->desk().settings().keep)]() mutable {
        options.after_error = is_read;
        auto opened = is_read ? Journal::open(path, options) : open_at_last(path, *calendar, options);
        if (!opened) return opened;
        const auto before = std::exchange(file, OpenFile::identity(path));
        if (std::exchange(is_read, true) && before != file) asio::post(io, [this] { house->on_other_journal(); });
        return opened;
      },
      std::move(events));
}

/// On the writer's thread, before it writes anything of this run.
Result<std::unique_ptr<Journal>> Daemon::Impl::open_at_last(const std::string& path, const Calendar& calendar,
                                                            const JournalOptions& options) {
  auto opened = open_and_read(path, calendar.local_date(wall_now()), options);
  if (!opened) return tl::unexpected(opened.error());
  asio::post(io, [this, kept = std::make_shared<RestoredState>(std::move(opened->kept))] {
    house->recover(std::move(*kept));
    keep_list(added_list(house->answers()));
  });
  return std::move(opened->journal);
}

/// After a crash, and however large it is, beside the work: nobody waits for it.
void Daemon::Impl::look_through_journal() {
  (void)auditor.start([this, path = places.journal]() -> Worker::Answer {
    const auto wrong = check_journal(path);
    return [this, text = wrong ? *wrong : wrong.error().text] {
      if (text.empty()) return log.say(LogLevel::info, "the journal is sound, after an end that was not orderly");
      log.say(LogLevel::error, text);
      house->tell_self_check(text);
    };
  });
}

}  // namespace brimwatch
