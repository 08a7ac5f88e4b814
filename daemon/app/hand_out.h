#pragma once
// Sends a replay's notices through the configured channels, one after the other, in the tape's own time: for a rehearsal,
// and for the demo's mails. Waits for each channel; nothing is tried again.
#include <memory>
#include <string>
#include <vector>

#include "adapters/channel.h"
#include "config/settings.h"
#include "core/result.h"
#include "dispatch/plan.h"

namespace brimwatch {

class HandOut {
 public:
  /// Makes the enabled channels; console ones are left out where `with_console` is false (the replay prints already).
  static Result<HandOut> open(const std::vector<ChannelSettings>& channels, bool with_console);

  void send(const NoticeRecord& record);
  /// One line a channel: how many were delivered, what became of the rest.
  [[nodiscard]] std::vector<std::string> summary() const;

 private:
  struct Lane {
    ChannelPlan plan;
    std::unique_ptr<Channel> channel;
    int delivered = 0, failed = 0;
    std::string last_failure;
  };
  std::vector<Lane> lanes_;
};

}  // namespace brimwatch
