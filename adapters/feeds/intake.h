#pragma once
// What all live feeds share: a frame is recorded, decoded, checked for gaps in the source's own numbering,
// counted, and its ticks handed to the listener. On the loop's thread.
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/hole_marker.h"
#include "adapters/feeds/rehearsal_clock.h"

namespace brimwatch {

class Intake {
 public:
  Intake(const FeedSettings& settings, const FeedContext& context, Decoder decoder);

  void attach(FeedListener* listener) { listener_ = listener; }
  void want(const std::vector<std::string>& symbols) { decoder_.want(symbols); }

  /// One frame. Its ticks wait for flush(), so that a burst goes to the listener in one piece; answers() are of the
  /// frames since the last flush().
  void take(std::string_view frame);
  void flush();
  [[nodiscard]] bool has_ticks() const { return !decoded_.ticks.empty(); }
  [[nodiscard]] const std::vector<SourceVerdict>& answers() const { return decoded_.answers; }
  [[nodiscard]] const std::vector<WantedReply>& replies() const { return decoded_.replies; }

  /// A new connection: the source's numbering may start anywhere.
  void restart_sequences() { holes_.restart_numbers(); }

  /// The source says no to something; `text` without secrets. Logged, and kept as a reason for a silence that follows.
  void note_refusal(const std::string& text);

  void set_state(FeedState state, std::string text);
  /// A line or an event came that is longer than allowed: it may have held trades, so there is a hole in its place.
  void lose(const std::string& what);
  [[nodiscard]] FeedHealth health() const;

 private:
  [[nodiscard]] Timestamp receipt() const;
  void start_rehearsal(std::size_t first_tick);
  void look_for_problems();
  void report_problem(const std::string& what);
  void remark(const std::string& what);

  const std::string name_;
  const std::size_t longest_;
  const FeedContext& context_;
  Decoder decoder_;
  Decoded decoded_;
  HoleMarker holes_;
  RehearsalClock rehearsal_;
  FeedListener* listener_ = nullptr;
  FeedHealth health_;
  std::uint64_t malformed_outside_ = 0;
  std::uint64_t problems_seen_ = 0;
  Nanos last_report_ = 0;
  std::uint64_t reports_held_ = 0;
  bool codes_told_ = false, flags_told_ = false, unreadable_told_ = false;
  bool was_up_ = false;
};

}  // namespace brimwatch
