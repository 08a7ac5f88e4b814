#pragma once
// The journal in the daemon's life: opened and read off the loop, gone without where it cannot be, written by a thread of
// its own, which opens it again where it was lost, and looked through after an end that was not orderly.
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/log_sink.h"
#include "journal/writer.h"
#include "live/house.h"
#include "loop/worker.h"

namespace brimwatch {

class JournalService {
 public:
  struct World {
    std::function<void()> ready;  ///< once: the house knows what the journal has, or does without it; writer() is there
    std::function<void()> read;   ///< after that: it has been read, at the start or at last
    std::function<std::vector<NoticeRecord>(std::vector<NoticeRecord>)> to_tell;  ///< of what has been written
    LogSink say;
  };
  JournalService(boost::asio::io_context& loop, std::string path, House& house, World world);
  JournalService(const JournalService&) = delete;
  JournalService& operator=(const JournalService&) = delete;

  /// The feeds wait ten seconds for it, no longer.
  void open();
  [[nodiscard]] JournalWriter& writer() { return *writer_; }
  /// After the writer: whatever hangs is left behind, which is the answer false.
  bool stop(std::chrono::milliseconds most);

 private:
  struct Opened;
  static Result<Opened> open_and_read(const std::string& path, Date today, const JournalOptions& options);
  void begin(Opened opened);
  void begin_without(const std::string& trouble);
  void make_writer(std::unique_ptr<Journal> journal);
  [[nodiscard]] WriterEvents events_of_writer();
  Result<std::unique_ptr<Journal>> open_at_last(const Calendar& calendar, const JournalOptions& options);
  void look_through();

  boost::asio::io_context& loop_;
  const std::string path_;
  House& house_;
  World world_;
  Worker opening_;
  Worker auditor_;
  std::unique_ptr<JournalWriter> writer_;
};

}  // namespace brimwatch
