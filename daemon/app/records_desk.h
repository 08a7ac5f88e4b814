#pragma once
// What the daemon asks of the journal besides writing: acknowledgements. On a thread of its own with a connection of its
// own, so that neither the loop nor the writer waits; answers come back on the loop's thread.
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "journal/journal.h"
#include "live/house.h"

namespace brimwatch {

class RecordsDesk final : public Records {
 public:
  /// A line for the log, on any thread.
  using Say = std::function<void(LogLevel, std::string_view)>;

  RecordsDesk(boost::asio::io_context& loop, std::string journal, Say say)
      : loop_(loop), path_(std::move(journal)), say_(std::move(say)) {}
  ~RecordsDesk() override { stop(); }
  RecordsDesk(const RecordsDesk&) = delete;
  RecordsDesk& operator=(const RecordsDesk&) = delete;

  /// One that cannot be kept is said in the log, and has no answer.
  void acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) override;
  void new_acknowledgements(std::function<void(std::vector<std::string>)> answer) override;
  void stop() { thread_.join(); }

 private:
  [[nodiscard]] Result<std::unique_ptr<Journal>> open() const;
  [[nodiscard]] Status keep(const std::string& notice_id, Timestamp at) const;

  boost::asio::io_context& loop_;
  std::string path_;
  Say say_;
  std::int64_t seen_ = 0;  ///< number of the last acknowledgement; used on the thread only
  boost::asio::thread_pool thread_{1};
};

}  // namespace brimwatch
