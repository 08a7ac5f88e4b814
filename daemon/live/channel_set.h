#pragma once
// Everything behind a written notice: dispatcher, one runner a channel, and the rows that say what became of each
// delivery. All calls on the loop's thread; results come back to it.
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "config/settings.h"
#include "core/log_sink.h"
#include "core/result.h"
#include "core/snapshot.h"
#include "dispatch/dispatcher.h"
#include "dispatch/runner.h"

namespace brimwatch {

class ChannelSet {
 public:
  struct World {
    std::function<Timestamp()> wall;
    std::function<void(std::function<void()>)> post;  ///< later, on the loop's thread; called from any
    std::function<Result<std::unique_ptr<MessageRunner>>(const ChannelSettings&, MessageRunner::Done)> make;
    LogSink log;
    /// Makes rows durable, then calls back on the loop's thread; also when the journal is broken.
    std::function<void(std::vector<DeliveryRow>, std::function<void()>)> keep;
    /// A channel stopped getting through, or does again.
    std::function<void(const ChannelReport&)> report;
    std::uint64_t seed;  ///< for the jitter of retries
  };

  explicit ChannelSet(World world);
  ~ChannelSet();
  ChannelSet(const ChannelSet&) = delete;
  ChannelSet& operator=(const ChannelSet&) = delete;

  struct Line {
    ChannelSettings settings;
    std::unique_ptr<MessageRunner> runner;
    std::string last_reply;
  };
  using Made = std::vector<Line>;
  /// The enabled ones of `channels` that are not here yet. With one that cannot be made there are none, and nothing has
  /// changed.
  [[nodiscard]] Result<Made> make(const std::vector<ChannelSettings>& channels);
  /// Unchanged ones keep their thread and what waits for them; those `made` for this list take the places of the others.
  void set_channels(const std::vector<ChannelSettings>& channels, const EveningSettings& evening, Made made);
  /// Another machine speaks now: what waits here is its to send.
  void stand_down() { dispatcher_.forget(); }
  /// That id is another notice's from now on.
  void forget(const std::string& notice_id) { dispatcher_.forget(notice_id); }
  void take_up(std::vector<OpenDelivery> open) { dispatcher_.take_up(std::move(open), world_.wall()); }

  [[nodiscard]] std::function<std::vector<std::string>(const NoticeRecord&)> recipients() const {
    return dispatcher_.recipients();
  }
  void on_written(const std::vector<NoticeRecord>& records);
  void on_acknowledged(const std::string& notice_id);
  /// One of a channel's recipients has these notices, while others are still asked.
  void on_taken(const std::string& channel, const std::vector<std::string>& notice_ids, const std::string& recipient);
  /// Sends what is due; to be called after anything above and at least at the time it returns.
  std::optional<Timestamp> pump();

  /// What became of deliveries goes to the journal; nothing is sent.
  void note_answers();
  /// Lets what is in hand end. False: some of it hangs, and is left behind.
  bool stop(std::chrono::milliseconds most);
  [[nodiscard]] std::vector<ChannelRow> rows() const;
  [[nodiscard]] bool idle() const;

 private:
  void on_result(const std::string& channel, std::uint64_t ticket, const Delivery& delivery);
  void keep_changes(std::vector<Send> then_send);

  World world_;
  bool ending_ = false;  ///< answers are heard, nothing is begun
  Dispatcher dispatcher_;
  std::map<std::string, Line> lines_;
};

}  // namespace brimwatch
