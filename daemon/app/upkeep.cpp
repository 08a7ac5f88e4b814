#include "app/upkeep.h"

#include <condition_variable>
#include <mutex>
#include <utility>
#include <vector>

#include "adapters/channels/write_file.h"
#include "desk/desk.h"
#include "files/old_files.h"
#include "journal/prune.h"

namespace brimwatch {
namespace {

constexpr auto kPause = std::chrono::milliseconds(50);  // between steps of some milliseconds
constexpr auto kDeadline = std::chrono::hours(6);       // gigabytes on a slow disk
constexpr std::size_t kMailsAtOnce = 20'000;            // of one folder; the rest goes the next day
const Worker::Limits kLimits{.deadline = kDeadline, .waiting_most = 1};

struct Plan {
  std::string journal;
  JournalKeep keep;
  std::vector<std::string> mail_folders;
  Date today, mails_from;  ///< the first day whose mails stay
  bool mails = false;
};

Plan plan_of(const std::string& journal, const Settings& settings, Timestamp now) {
  const KeepSettings& keep = settings.keep;
  Plan plan;
  plan.journal = journal;
  plan.keep = {keep.notices, keep.deliveries, keep.day_records, keep.holes, keep.states};
  plan.today = Date{static_cast<std::int32_t>(now.ns / kDayNanos)};
  plan.mails = keep.mails > 0;
  plan.mails_from = plan.today - keep.mails;
  for (const ChannelSettings& channel : settings.channels)
    if (!channel.write_to.empty()) plan.mail_folders.push_back(channel.write_to);
  return plan;
}

struct Gone {
  PrunedRows rows;
  std::string trouble;  ///< of the journal; empty: none
  std::size_t mails = 0, mails_kept = 0;
};

Gone clean_up(const Plan& plan, const std::function<bool()>& go_on) {
  Gone gone;
  const auto pruned = prune_journal(plan.journal, plan.keep, plan.today, {.go_on = go_on});
  if (pruned) gone.rows = *pruned;
  else gone.trouble = pruned.error().text;
  for (const std::string& folder : plan.mail_folders) {
    if (!plan.mails || !go_on()) break;
    const OldFiles old =
        remove_old_files(folder, is_name_of_written_mail, Timestamp{plan.mails_from.days * kDayNanos}, kMailsAtOnce);
    gone.mails += old.removed;
    gone.mails_kept += old.kept_against_will;
  }
  return gone;
}

void tell(const Gone& gone, const Upkeep::Say& say) {
  if (!gone.trouble.empty())
    say(LogLevel::warning, gone.trouble + "; old rows stay in it until the next day, see [keep]");
  if (gone.mails_kept > 0)
    say(LogLevel::warning, std::to_string(gone.mails_kept) + " old mails cannot be removed from their folder; they stay");
  if (gone.rows.all() + static_cast<std::int64_t>(gone.mails) == 0) return;
  const PrunedRows& rows = gone.rows;
  say(LogLevel::info, "gone by age, as [keep] says: " + std::to_string(rows.notices) + " notices, " +
                          std::to_string(rows.deliveries) + " deliveries, " + std::to_string(rows.day_records) +
                          " records of days, " + std::to_string(rows.holes) + " holes, " + std::to_string(rows.states) +
                          " states, " + std::to_string(gone.mails) + " written mails");
}

}  // namespace

struct Upkeep::Room {
  std::mutex mutex;
  std::condition_variable changed;
  bool over = false;

  /// Leaves room for whoever else writes. False: it is over.
  bool pause() {
    std::unique_lock lock(mutex);
    return !changed.wait_for(lock, kPause, [this] { return over; });
  }
};

Upkeep::Upkeep(boost::asio::io_context& loop, std::string journal, Say say)
    : worker_(loop, kLimits), journal_(std::move(journal)), say_(std::move(say)), room_(std::make_shared<Room>()) {}
Upkeep::~Upkeep() { stop(); }

void Upkeep::on_beat(Timestamp now, const Calendar& calendar, const Settings& settings) {
  if (is_rehearsal(settings) || !clock_.due(now, calendar)) return;
  (void)worker_.start([plan = plan_of(journal_, settings, now), room = room_, say = say_]() -> Worker::Answer {
    const Gone gone = clean_up(plan, [room] { return room->pause(); });
    return [gone, say] { tell(gone, say); };
  });
}

void Upkeep::stop() {
  {
    const std::lock_guard lock(room_->mutex);
    room_->over = true;
  }
  room_->changed.notify_all();
  worker_.stop(std::chrono::milliseconds{100});
}

}  // namespace brimwatch
