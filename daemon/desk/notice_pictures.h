#pragma once
// Pictures for the channels that show one. What is to be drawn is kept when a notice is written, and drawn when it is
// sent, on the channel's own thread: drawing takes longer than a tick may wait.
#include <cstdint>
#include <deque>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <utility>

#include "adapters/channel.h"
#include "config/settings.h"
#include "pictures/picture.h"

namespace brimwatch {

/// Any thread. Holds the newest `most`; a notice that waited longer, or over a restart, goes without a picture.
class PictureShelf {
 public:
  explicit PictureShelf(std::size_t most = 256) : most_(most) {}
  void put(const std::string& notice_id, DayPicture picture);
  [[nodiscard]] std::optional<DayPicture> find(const std::string& notice_id) const;

 private:
  std::size_t most_;
  mutable std::mutex mutex_;
  std::deque<std::pair<std::string, DayPicture>> pictures_;
};

/// Whether a channel of that kind, set like that, puts a picture into its messages.
[[nodiscard]] bool shows_pictures(const ChannelSettings& settings);

/// Which picture a channel's messages carry: a mail has two, for light and dark, of full size; the desktop one of an
/// icon's size.
enum class PictureUse : std::uint8_t { mail, desktop };
[[nodiscard]] PictureUse picture_use(const ChannelSettings& settings);

/// `inner`, given the picture of a message that is about one notice. A day without a price is not drawn. The same notice
/// gets the same picture at every attempt.
[[nodiscard]] std::unique_ptr<Channel> pictured(std::unique_ptr<Channel> inner, std::shared_ptr<const PictureShelf> shelf,
                                                PictureUse use);

}  // namespace brimwatch
