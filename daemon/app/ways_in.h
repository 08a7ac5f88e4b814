#pragma once
// The feeds of the daemon: made, started, subscribed, watched. Their ticks come out as one stream.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "config/settings.h"
#include "core/snapshot.h"

namespace brimwatch {

class WaysIn {
 public:
  struct Events {
    std::function<void(std::size_t feed, std::span<const Tick>)> ticks;
    std::function<void(std::size_t feed, FeedState, std::string_view)> state;
    std::function<void(std::size_t feed, Timestamp, std::string_view)> frame;
  };

  WaysIn(FeedContext context, Events events);
  ~WaysIn();
  WaysIn(const WaysIn&) = delete;
  WaysIn& operator=(const WaysIn&) = delete;

  /// Feeds whose settings stay are left alone but for their subscription; others are stopped, made anew and started.
  void set(const std::vector<FeedSettings>& feeds, const std::vector<std::string>& symbols);
  void stop();

  [[nodiscard]] std::vector<FeedRow> rows() const;
  [[nodiscard]] std::size_t size() const { return lines_.size(); }
  [[nodiscard]] const FeedSettings& settings(std::size_t feed) const;

 private:
  struct Line;
  FeedContext context_;
  Events events_;
  std::vector<std::unique_ptr<Line>> lines_;
};

}  // namespace brimwatch
