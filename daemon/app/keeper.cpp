#include "app/keeper.h"

#include <atomic>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

#include "loop/clock.h"

namespace brimwatch {
namespace {

constexpr Nanos kFirstPause = kSecond;
constexpr Nanos kLongestPause = kMinute;
constexpr std::size_t kKeptMost = 10'000;  ///< notices that wait for a broken journal; the oldest go first, counted

}  // namespace

struct Keeper::Impl {
  Impl(boost::asio::io_context& l, std::unique_ptr<Journal> j, std::string p, std::function<void(const std::string&)> t)
      : loop(l), journal(std::move(j)), path(std::move(p)), trouble(std::move(t)) {}

  /// On the journal's thread.
  void commit(JournalBatch batch, const Recipients& recipients, const Done& done) {
    std::vector<NoticeRecord> written;
    if (journal == nullptr) reopen();
    bool kept = false;
    if (journal != nullptr) {
      if (!missed.empty()) {
        batch.notices.insert(batch.notices.begin(), std::make_move_iterator(missed.begin()),
                             std::make_move_iterator(missed.end()));
        missed.clear();
      }
      const auto status = journal->commit(batch, recipients, &written);
      kept = status.has_value();
      if (!kept) broke(status.error().text);
    }
    if (!kept) {
      written = batch.notices;  // told all the same: a notice that is late or doubled beats one that never comes
      for (NoticeRecord& record : batch.notices) missed.push_back(std::move(record));
      while (missed.size() > kKeptMost) missed.erase(missed.begin()), ++failures;
    }
    drop_told_already(written);
    if (!kept) told_unkept.insert(told_unkept.end(), written.begin(), written.end());
    if (done) boost::asio::post(loop, [done, written = std::move(written)]() mutable { done(std::move(written)); });
  }

  /// Notices that went out while the journal was broken must not go out again when it takes them in.
  void drop_told_already(std::vector<NoticeRecord>& written) {
    std::erase_if(written, [&](const NoticeRecord& record) {
      return std::any_of(told_unkept.begin(), told_unkept.end(),
                         [&](const NoticeRecord& told) { return told.id == record.id; });
    });
    if (journal != nullptr && missed.empty()) told_unkept.clear();
  }

  /// After a failed write nothing is known of the handle: it is given up, never tried again.
  void broke(const std::string& why) {
    ++failures;
    journal->abandon();
    journal.reset();
    next_try = steady_now() + kFirstPause;
    pause = kFirstPause;
    tell(why + "; notices go out, but a restart may repeat them");
  }

  void reopen() {
    if (steady_now() < next_try) return;
    auto opened = Journal::open(path);
    if (opened) {
      journal = std::move(*opened);
      tell("");
      return;
    }
    pause = std::min(pause * 2, kLongestPause);
    next_try = steady_now() + pause;
  }

  void tell(const std::string& text) {
    boost::asio::post(loop, [this, text] { trouble(text); });
  }

  boost::asio::io_context& loop;
  std::unique_ptr<Journal> journal;
  std::string path;
  std::function<void(const std::string&)> trouble;
  std::vector<NoticeRecord> missed, told_unkept;
  Nanos next_try = 0, pause = kFirstPause;
  std::atomic<std::size_t> waiting{0};
  std::atomic<std::uint64_t> failures{0};
  boost::asio::thread_pool thread{1};
};

Keeper::Keeper(boost::asio::io_context& loop, std::unique_ptr<Journal> journal, std::string path,
               std::function<void(const std::string&)> trouble)
    : impl_(std::make_unique<Impl>(loop, std::move(journal), std::move(path), std::move(trouble))) {}

Keeper::~Keeper() { finish(); }

void Keeper::submit(JournalBatch batch, Recipients recipients, Done done) {
  ++impl_->waiting;
  boost::asio::post(impl_->thread, [this, batch = std::move(batch), recipients = std::move(recipients),
                                    done = std::move(done)]() mutable {
    impl_->commit(std::move(batch), recipients, done);
    --impl_->waiting;
  });
}

void Keeper::with_journal(std::function<void(Journal&)> work) {
  boost::asio::post(impl_->thread, [this, work = std::move(work)] {
    if (impl_->journal != nullptr) work(*impl_->journal);
  });
}

std::size_t Keeper::waiting() const { return impl_->waiting; }
std::uint64_t Keeper::failures() const { return impl_->failures; }

void Keeper::finish() { impl_->thread.join(); }

}  // namespace brimwatch
