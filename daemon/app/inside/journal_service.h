#pragma once
// The journal in the daemon's life: opened and read off the loop, gone without where it cannot be, written by a thread of
// its own, which opens it again where it was lost and for which nobody waits where it hangs, and looked through after an
// end that was not orderly.
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/log_sink.h"
#include "journal/patient_keeper.h"
#include "journal/writer.h"
#include "live/house.h"
#include "loop/worker.h"

namespace brimwatch {

class JournalService {
 public:
  struct World {
    std::function<void()> ready;  ///< once: the house knows what the journal has, or does without it; keeper() is there
    std::function<void()> read;   ///< after that: it has been read, at the start or at last
    std::function<std::vector<NoticeRecord>(std::vector<NoticeRecord>)> to_tell;  ///< of what has been written
    LogSink say;
  };
  JournalService(boost::asio::io_context& loop, std::string path, House& house, World world);
  JournalService(const JournalService&) = delete;
  JournalService& operator=(const JournalService&) = delete;

  /// The feeds wait ten seconds for it, no longer.
  void open();
  [[nodiscard]] BatchKeeper& keeper() { return patient_; }
  void on_beat() { patient_.on_beat(); }
  /// Writes what is left, for so long at most. False: something is not written.
  bool stop_writing(std::chrono::milliseconds most);
  /// After stop_writing(): whatever hangs is left behind, which is the answer false.
  bool stop(std::chrono::milliseconds most);

 private:
  struct Opened;
  static Result<Opened> open_and_read(const std::string& path, Date today, const JournalOptions& options, bool is_shared);
  void begin(Opened opened);
  void begin_without(const std::string& trouble);
  void make_writer(std::unique_ptr<Journal> journal);
  [[nodiscard]] PatientKeeper::World world_of_patient();
  Result<std::unique_ptr<Journal>> open_at_last(const Calendar& calendar, const JournalOptions& options);
  void look_through();

  boost::asio::io_context& loop_;
  const std::string path_;
  const bool is_shared_;  ///< several machines have one voice
  House& house_;
  World world_;
  Worker opening_;
  Worker auditor_;
  PatientKeeper patient_;  ///< stands before the writer
  std::unique_ptr<JournalWriter> writer_;
};

}  // namespace brimwatch
