#pragma once
// What the daemon asks of the journal besides writing: acknowledgements. A worker with a connection of its own, so that
// neither the loop nor the writer waits; answers come back on the loop's thread. Look-ups read only: they neither make
// nor change the file.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/log_sink.h"
#include "journal/journal.h"
#include "live/house.h"
#include "loop/worker.h"

namespace brimwatch {

class RecordsDesk final : public Records {
 public:
  /// A line for the log, on the loop's thread.
  using Say = LogSink;

  RecordsDesk(boost::asio::io_context& loop, std::string journal, Say say)
      : path_(std::move(journal)), say_(std::move(say)), worker_(loop) {}
  RecordsDesk(const RecordsDesk&) = delete;
  RecordsDesk& operator=(const RecordsDesk&) = delete;

  /// One that cannot be kept is said in the log, and has no answer.
  void acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) override;
  /// One look at a time: while the last has not come back there is no other.
  void new_acknowledgements(std::function<void(std::vector<std::string>)> answer) override;
  bool stop(std::chrono::milliseconds most) { return worker_.stop(most); }

 private:
  std::string path_;
  Say say_;
  std::int64_t seen_ = 0;  ///< number of the last acknowledgement
  bool looking_ = false;
  Worker worker_;
};

}  // namespace brimwatch
