#pragma once
// What the daemon asks of the journal besides writing: counts, acknowledgements. On a thread of its own with a connection
// of its own, so that neither the loop nor the writer waits; answers come back on the loop's thread.
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/notice.h"
#include "journal/journal.h"

namespace brimwatch {

class RecordsDesk {
 public:
  RecordsDesk(boost::asio::io_context& loop, std::string journal) : loop_(loop), path_(std::move(journal)) {}
  ~RecordsDesk() { stop(); }
  RecordsDesk(const RecordsDesk&) = delete;
  RecordsDesk& operator=(const RecordsDesk&) = delete;

  /// The highest count of that kind on that day for that name; 0 when there is none or the journal cannot be read.
  void highest_count(Date day, const std::string& name, NoticeKind kind, std::function<void(int)> answer);
  /// `answer` only when it was written.
  void acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer);
  /// Ids acknowledged since the last call, by whichever process.
  void new_acknowledgements(std::function<void(std::vector<std::string>)> answer);
  void stop() { thread_.join(); }

 private:
  [[nodiscard]] std::unique_ptr<Journal> open() const;

  boost::asio::io_context& loop_;
  std::string path_;
  std::int64_t seen_ = -1;  ///< number of the last acknowledgement; used on the thread only
  boost::asio::thread_pool thread_{1};
};

}  // namespace brimwatch
