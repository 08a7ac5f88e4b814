#pragma once
// Whether a channel gets through, and when the user must hear of it: once when it fails, once when it is back; for
// one that comes and goes, one report at most every ten minutes.
#include <optional>
#include <string>

#include "adapters/channel.h"
#include "core/notice.h"
#include "core/text/timestamp.h"

namespace brimwatch {

struct ChannelReport {
  std::string channel;
  bool works = false;
  bool refused = false;  ///< the other side will not take it, now or later: something must be put right
  bool some = false;     ///< some of its recipients refuse, the others get everything
  bool lost =
      false;  ///< notices have begun to become too old before they got through: whoever looks there never sees them
  bool now_and_then = false;  ///< works, and has not always since it was last reported on
  Timestamp since;            ///< when the trouble began
  Timestamp at;
  std::string reply;  ///< the other side's last words
  int gone = 0;       ///< notices that became too old or were refused meanwhile
};

/// The report as a notice of kind self-check, for the other channels and the journal; word it with the channel's name as
/// its symbol, so that it does not go to the channel itself while that is in trouble; of `some` and of `lost` it must.
[[nodiscard]] Notice notice_of(const ChannelReport& report, Date day, int count, std::chrono::seconds offset);

class Health {
 public:
  explicit Health(std::string channel) : channel_(std::move(channel)) {}

  void delivered(Timestamp now);
  void failed(Timestamp now, const Delivery& delivery);
  void hangs(Timestamp now, Timestamp since);
  void gone() { ++gone_; }
  /// One became too old: told once until something gets through again.
  void expired(Timestamp now);
  /// The report held back because another went out less than ten minutes before, once they have passed.
  void on_time(Timestamp now);
  [[nodiscard]] std::optional<Timestamp> next_wakeup() const;

  [[nodiscard]] int failures() const { return failures_; }  ///< in a row
  [[nodiscard]] bool in_trouble() const { return since_.is_set(); }
  [[nodiscard]] std::optional<ChannelReport> take_report();  ///< call until there is none

 private:
  void tell(ChannelReport report);
  void tell_back(Timestamp now);

  static constexpr int kFailuresBeforeTrouble = 3;
  static constexpr Nanos kTellAgainAfter = 10 * kMinute;

  std::string channel_;
  int failures_ = 0, gone_ = 0;
  Timestamp first_failure_, since_, told_at_;
  bool told_ = false, told_some_ = false, told_lost_ = false;
  std::optional<ChannelReport> held_;  ///< trouble that came too soon after the last report
  std::optional<ChannelReport> report_, lost_;
};

}  // namespace brimwatch
