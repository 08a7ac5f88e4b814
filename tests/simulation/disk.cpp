#include "disk.h"

#include <sqlite3.h>

#include <filesystem>
#include <fstream>

#include "journal/batch.h"
#include "support/whole_file.h"

namespace brimwatch::simulation {
namespace {}  // namespace

Disk::Disk(std::string folder, VirtualTime& time, std::uint64_t seed, Tally& tally)
    : folder_(std::move(folder)), time_(time), dice_(seed, "disk"), tally_(tally), layer_(std::make_unique<FaultVfs>()) {
  std::filesystem::create_directories(folder_);
}

Disk::~Disk() { std::filesystem::remove_all(folder_); }

void Disk::lock_for(Nanos span) { locked_until_ = time_.steady() + span; }

Result<std::unique_ptr<Journal>> Disk::open(bool check) {
  if (time_.steady() < locked_until_) return brimwatch::fail("another program keeps the journal locked");
  JournalOptions options;
  options.vfs = layer_->name();
  options.check = check;
  return Journal::open(journal_path(), options);
}

void Disk::fail_for(Nanos span) {
  static constexpr int kCodes[] = {SQLITE_FULL, SQLITE_IOERR_WRITE, SQLITE_IOERR_FSYNC};
  const int code = kCodes[dice_.below(3)];
  ++tally_[code == SQLITE_FULL ? "disk: full for a while" : "disk: I/O errors for a while"];
  failing_ = true;
  layer_->fail_at(layer_->calls() + 1, code, true);
  time_.after(span, [this, mine = ++failure_] {
    if (mine == failure_) heal();
  });
}

void Disk::heal() {
  failing_ = false;
  layer_->stop_failing();
}

Nanos Disk::next_pause() {
  if (!faults_) return kMilli;
  const double fate = dice_.unit();
  if (fate < 0.0003) {
    ++tally_["disk: hangs for a minute"];
    return dice_.span(30 * kSecond, 90 * kSecond);
  }
  if (fate < 0.0013) {
    ++tally_["disk: slow, seconds for a write"];
    return dice_.log_span(kSecond, 20 * kSecond);
  }
  return dice_.log_span(kMilli / 2, 40 * kMilli);
}

void Disk::remember_for_kill() {
  image_ = layer_->disk();
  files_.clear();
  for (const auto& entry : std::filesystem::directory_iterator(folder_)) {
    if (entry.path().extension() == ".db-shm") continue;
    files_[entry.path().filename().string()] = test::whole_file(entry.path());
  }
}

void Disk::put_back(bool power_loss) {
  for (const auto& entry : std::filesystem::directory_iterator(folder_)) {
    if (entry.path().filename().string().starts_with("journal.db")) std::filesystem::remove(entry.path());
  }
  if (power_loss) {
    brimwatch::put_back(image_, folder_, dice_.below(1ULL << 60));
  } else {
    for (const auto& [name, content] : files_) {
      if (name.starts_with("journal.db")) std::ofstream(folder_ + "/" + name, std::ios::binary) << content;
    }
  }
  failing_ = false, ++failure_, locked_until_ = 0;
  layer_ = std::make_unique<FaultVfs>();
}

SimKeeper::SimKeeper(Disk& disk, VirtualTime& time, std::unique_ptr<Journal> journal, Opener opener, Events events)
    : disk_(disk), time_(time), events_(std::move(events)) {
  BacklogWriter::World world;
  world.steady = [this] { return time_.steady(); };
  world.events = [this] { return events_.writer; };
  world.recipients = [this] { return recipients_; };
  world.note = [this](const WriterCounters& counters, std::size_t rows) { counters_ = counters, rows_ = rows; };
  writer_ = std::make_unique<BacklogWriter>(std::move(journal), std::move(opener), WriterOptions{}, std::move(world));
}

void SimKeeper::submit(JournalBatch batch, Done done) {
  const bool has_state =
      !batch.notices.empty() || !batch.watches.empty() || !batch.symbols.empty() || !batch.answers.empty();
  if (has_state) mark_ = events_.mark(), marked_ = true;
  queued_ += rows_of(batch);
  queue_.push_back({std::move(batch), std::move(done)});
  if (!awake_) wake_after(disk_.next_pause());
}

void SimKeeper::wake_after(Nanos span) {
  awake_ = true;
  answers_at_ = time_.steady() + span;
  time_.after(span, [this, life = std::weak_ptr<int>(life_)] {
    if (!life.expired()) work();
  });
}

void SimKeeper::work() {
  awake_ = false;
  queued_ = 0;
  const std::uint64_t mark = mark_;
  writer_->write(std::exchange(queue_, {}));
  if (!writer_->has_rest() && std::exchange(marked_, false)) events_.on_durable(mark);
  if (writer_->has_rest()) wake_after(std::max<Nanos>(writer_->next_attempt() - time_.steady(), kMilli));
}

void SimKeeper::end(Nanos most) {
  if (awake_ && !writer_->has_rest() && answers_at_ - time_.steady() > most) return;  // the disk hangs
  work();
  writer_->end();
  if (!writer_->has_rest() && std::exchange(marked_, false)) events_.on_durable(mark_);
}

Journal* SimRecords::journal() {
  if (journal_ == nullptr) {
    auto opened = disk_.open(false);
    if (opened) journal_ = std::move(*opened);
  }
  return journal_.get();
}

void SimRecords::acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) {
  Journal* const records = journal();
  if (records == nullptr) return;
  if (!records->acknowledge(notice_id, at)) return void(journal_.reset());
  answer();
}

void SimRecords::new_acknowledgements(std::function<void(std::vector<std::string>)> answer) {
  Journal* const records = journal();
  if (records == nullptr) return;
  const auto found = records->acknowledgements(std::max<std::int64_t>(seen_, 0));
  if (!found) return void(journal_.reset());
  const bool first = std::exchange(seen_, found->empty() ? std::max<std::int64_t>(seen_, 0) : found->back().seq) < 0;
  if (first || found->empty()) return;
  std::vector<std::string> ids;
  for (const Acknowledgement& one : *found) ids.push_back(one.notice_id);
  answer(std::move(ids));
}

}  // namespace brimwatch::simulation
