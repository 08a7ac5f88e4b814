#pragma once
// The journal on a thread of its own. What is handed in is committed in order; the answer comes back on the loop's
// thread. The caller never waits. When the journal fails, that is told once, notices go out all the same (marked as not
// kept), and opening is tried again with growing pauses; what could not be kept is counted.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/result.h"
#include "journal/journal.h"

namespace brimwatch {

class Keeper {
 public:
  using Done = std::function<void(std::vector<NoticeRecord> written)>;

  /// `trouble` is called on the loop's thread with a line when the journal stops working, and with an empty one when it
  /// is back.
  Keeper(boost::asio::io_context& loop, std::unique_ptr<Journal> journal, std::string path,
         std::function<void(const std::string&)> trouble);
  ~Keeper();
  Keeper(const Keeper&) = delete;
  Keeper& operator=(const Keeper&) = delete;

  void submit(JournalBatch batch, Recipients recipients, Done done);
  /// Runs `work` with the journal on its thread; nothing when it is broken.
  void with_journal(std::function<void(Journal&)> work);
  [[nodiscard]] std::size_t waiting() const;
  [[nodiscard]] std::uint64_t failures() const;
  /// Commits what is handed in and ends the thread.
  void finish();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
