#include "app/inside/journal_service.h"

#include <boost/asio/post.hpp>
#include <utility>

#include "journal/open_files.h"
#include "journal/upkeep.h"
#include "loop/clock.h"

namespace brimwatch {
namespace {

namespace asio = boost::asio;

constexpr auto kAuditMost = std::chrono::hours(6);  ///< gigabytes on a slow disk

/// Old states go by upkeep, in steps; at a commit only where that has not come to it for a month.
JournalOptions options_of(const KeepSettings& keep) {
  constexpr int kForEver = 1'000'000, kMonth = 30;
  JournalOptions options;
  options.tidied_apart = true;
  options.days_kept = keep.states == 0 ? kForEver : keep.states + kMonth;
  return options;
}

/// Of several machines each notice is in their log before it is this disk's turn; but the next one is not there before
/// the disk has answered or is given up. So it is given up sooner than another machine would forget what it has heard.
PatientKeeper::Patience patience_with_disk(bool is_shared) {
  PatientKeeper::Patience patience;
  if (is_shared) patience.waits = kSecond;
  return patience;
}

}  // namespace

struct JournalService::Opened {
  std::unique_ptr<Journal> journal;
  RestoredState kept;
  bool unclean = false;  ///< whoever wrote last did not close it
};

JournalService::JournalService(asio::io_context& loop, std::string path, House& house, World world)
    : loop_(loop),
      path_(std::move(path)),
      is_shared_(house.desk().settings().shared.on()),
      house_(house),
      world_(std::move(world)),
      opening_(loop),
      auditor_(loop, {.deadline = kAuditMost, .waiting_most = 1}),
      patient_(world_of_patient(), patience_with_disk(is_shared_)) {}

/// Any thread.
Result<JournalService::Opened> JournalService::open_and_read(const std::string& path, Date today,
                                                             const JournalOptions& options, bool is_shared) {
  const bool unclean = ended_uncleanly(path);
  auto journal = Journal::open(path, options);
  if (!journal) return tl::unexpected(journal.error());
  auto kept = read_kept(**journal, today, is_shared);
  if (!kept) return tl::unexpected(kept.error());
  return Opened{std::move(*journal), std::move(*kept), unclean};
}

/// Off the loop: another program may hold its lock, the disk may hang.
void JournalService::open() {
  const Date today = house_.desk().main_calendar().local_date(wall_now());
  const bool started = opening_.start(
      [this, path = path_, today, options = options_of(house_.desk().settings().keep),
       is_shared = is_shared_]() -> Worker::Answer {
        return [this, opened = std::make_shared<Result<Opened>>(open_and_read(path, today, options, is_shared))] {
          if (*opened) begin(std::move(**opened));
          else begin_without(opened->error().text);
        };
      },
      [this] { begin_without("journal " + path_ + ": no answer for 10 s (another program's lock, or the disk)"); });
  if (!started) begin_without("journal " + path_ + ": the system gives no thread to open it");
}

void JournalService::begin(Opened opened) {
  house_.restore(std::move(opened.kept));
  make_writer(std::move(opened.journal));
  world_.ready();
  world_.read();
  if (opened.unclean) look_through();
}

/// A journal that cannot be used stays as it is; the writer goes on asking for it, and reads it before it writes.
void JournalService::begin_without(const std::string& trouble) {
  house_.do_without(trouble);
  make_writer(nullptr);
  world_.ready();
}

void JournalService::make_writer(std::unique_ptr<Journal> journal) {
  const bool journal_is_read = journal != nullptr;
  writer_ = std::make_unique<JournalWriter>(
      std::move(journal),
      [this, is_read = journal_is_read, file = OpenFile::identity(path_), path = path_,
       calendar = house_.desk().main_calendar_shared(), options = options_of(house_.desk().settings().keep)]() mutable {
        options.after_error = is_read;
        auto opened = is_read ? Journal::open(path, options) : open_at_last(*calendar, options);
        if (!opened) return opened;
        const auto before = std::exchange(file, OpenFile::identity(path));
        if (std::exchange(is_read, true) && before != file) asio::post(loop_, [this] { house_.on_other_journal(); });
        return opened;
      },
      patient_.events_of_keeper());
  patient_.stand_before(*writer_);
}

PatientKeeper::World JournalService::world_of_patient() {
  PatientKeeper::World world;
  world.steady = steady_now;
  world.post = [this](std::function<void()> what) { asio::post(loop_, std::move(what)); };
  world.events.on_notices = [this](std::vector<NoticeRecord> written, bool durable) {
    house_.on_written(world_.to_tell(std::move(written)), durable);
  };
  world.events.on_trouble = [this](const std::string& why) { house_.on_journal(why); };
  world.events.on_recovery = [this] { house_.on_journal(""); };
  world.trouble = world_.say;
  return world;
}

/// On the writer's thread, before it writes anything of this run.
Result<std::unique_ptr<Journal>> JournalService::open_at_last(const Calendar& calendar, const JournalOptions& options) {
  auto opened = open_and_read(path_, calendar.local_date(wall_now()), options, is_shared_);
  if (!opened) return tl::unexpected(opened.error());
  asio::post(loop_, [this, kept = std::make_shared<RestoredState>(std::move(opened->kept))] {
    house_.recover(std::move(*kept));
    world_.read();
  });
  return std::move(opened->journal);
}

/// However large it is, beside the work: nobody waits for it.
void JournalService::look_through() {
  (void)auditor_.start([this, path = path_]() -> Worker::Answer {
    const auto wrong = check_journal(path);
    return [this, text = wrong ? *wrong : wrong.error().text] {
      if (text.empty()) return world_.say(LogLevel::info, "the journal is sound, after an end that was not orderly");
      world_.say(LogLevel::error, text);
      house_.tell_self_check(text);
    };
  });
}

bool JournalService::stop_writing(std::chrono::milliseconds most) {
  patient_.hand_over_all();
  return writer_->stop(most);
}

bool JournalService::stop(std::chrono::milliseconds most) {
  auditor_.stop(std::chrono::milliseconds{0});  // it only reads
  return opening_.stop(most);
}

}  // namespace brimwatch
