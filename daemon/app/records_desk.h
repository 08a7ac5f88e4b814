#pragma once
// What the daemon asks of the journal besides writing: acknowledgements. On a thread of its own with a connection of its
// own, so that neither the loop nor the writer waits; answers come back on the loop's thread.
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "app/house.h"
#include "journal/journal.h"

namespace brimwatch {

class RecordsDesk final : public Records {
 public:
  RecordsDesk(boost::asio::io_context& loop, std::string journal) : loop_(loop), path_(std::move(journal)) {}
  ~RecordsDesk() override { stop(); }
  RecordsDesk(const RecordsDesk&) = delete;
  RecordsDesk& operator=(const RecordsDesk&) = delete;

  void acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) override;
  void new_acknowledgements(std::function<void(std::vector<std::string>)> answer) override;
  void stop() { thread_.join(); }

 private:
  [[nodiscard]] std::unique_ptr<Journal> open() const;

  boost::asio::io_context& loop_;
  std::string path_;
  std::int64_t seen_ = -1;  ///< number of the last acknowledgement; used on the thread only
  boost::asio::thread_pool thread_{1};
};

}  // namespace brimwatch
