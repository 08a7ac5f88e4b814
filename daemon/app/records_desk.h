#pragma once
// What the daemon asks of the journal besides writing: what other processes acknowledged. A worker with a connection of
// its own, so that neither the loop nor the writer waits; answers come back on the loop's thread. Look-ups read only:
// they neither make nor change the file.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "journal/journal.h"
#include "live/house.h"
#include "loop/worker.h"

namespace brimwatch {

class RecordsDesk final : public Records {
 public:
  RecordsDesk(boost::asio::io_context& loop, std::string journal) : path_(std::move(journal)), worker_(loop) {}
  RecordsDesk(const RecordsDesk&) = delete;
  RecordsDesk& operator=(const RecordsDesk&) = delete;

  /// One look at a time: while the last has not come back there is no other.
  void new_acknowledgements(std::function<void(std::vector<std::string>)> answer) override;
  bool stop(std::chrono::milliseconds most) { return worker_.stop(most); }

 private:
  std::string path_;
  std::int64_t seen_ = 0;  ///< number of the last acknowledgement
  bool looking_ = false;
  Worker worker_;
};

}  // namespace brimwatch
