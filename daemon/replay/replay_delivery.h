#pragma once
// Sends a replay's notices through the configured channels, one after the other, in the tape's own time: for a rehearsal,
// and for the demo's mails. Waits for each channel; nothing is tried again.
#include <memory>
#include <string>
#include <vector>

#include "adapters/channel.h"
#include "config/settings.h"
#include "core/result.h"
#include "desk/notice_pictures.h"
#include "dispatch/plan.h"

namespace brimwatch {

class ReplayDelivery {
 public:
  /// Makes the enabled channels; console ones are left out where `with_console` is false (the replay prints already).
  static Result<ReplayDelivery> open(const std::vector<ChannelSettings>& channels, bool with_console);

  /// True where a channel shows pictures, so that somebody should draw them.
  [[nodiscard]] bool wants_pictures() const { return wants_pictures_; }
  /// `picture`: of the day up to the notice; one without a price is not drawn.
  void send(const NoticeRecord& record, DayPicture picture = {});
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
  std::shared_ptr<PictureShelf> shelf_ = std::make_shared<PictureShelf>();
  bool wants_pictures_ = false;
};

}  // namespace brimwatch
