#include "desk/notice_pictures.h"

#include "pictures/small_picture.h"

namespace brimwatch {
namespace {

class Pictured final : public Channel {
 public:
  Pictured(std::unique_ptr<Channel> inner, std::shared_ptr<const PictureShelf> shelf, PictureUse use)
      : inner_(std::move(inner)), shelf_(std::move(shelf)), use_(use) {}

  Delivery send(const Message& message) override {
    if (message.notices.size() != 1 || !message.picture_png.empty()) return inner_->send(message);
    const auto picture = shelf_->find(message.notices.front().id);
    if (!picture || picture->price.empty()) return inner_->send(message);
    Message with = message;
    draw(*picture, with);
    return inner_->send(with);
  }

 private:
  void draw(const DayPicture& picture, Message& message) const {
    switch (use_) {
      case PictureUse::mail:
        message.picture_png = picture_png(picture);
        message.picture_dark_png = picture_png(picture, PictureStyle::dark);
        return;
      case PictureUse::desktop:
        message.picture_png = small_picture_png(picture);
        return;
    }
  }

  std::unique_ptr<Channel> inner_;
  std::shared_ptr<const PictureShelf> shelf_;
  PictureUse use_;
};

}  // namespace

void PictureShelf::put(const std::string& notice_id, DayPicture picture) {
  const std::lock_guard lock(mutex_);
  pictures_.emplace_front(notice_id, std::move(picture));
  if (pictures_.size() > most_) pictures_.pop_back();
}

std::optional<DayPicture> PictureShelf::find(const std::string& notice_id) const {
  const std::lock_guard lock(mutex_);
  for (const auto& [id, picture] : pictures_)
    if (id == notice_id) return picture;
  return std::nullopt;
}

bool shows_pictures(const ChannelSettings& settings) {
  if (settings.kind == "webhook")
    return !settings.picture_part.empty() || settings.body.find("{picture}") != std::string::npos;
  return settings.picture && (settings.kind == "email" || settings.kind == "desktop");
}

PictureUse picture_use(const ChannelSettings& settings) {
  return settings.kind == "desktop" ? PictureUse::desktop : PictureUse::mail;
}

std::unique_ptr<Channel> pictured(std::unique_ptr<Channel> inner, std::shared_ptr<const PictureShelf> shelf,
                                  PictureUse use) {
  return std::make_unique<Pictured>(std::move(inner), std::move(shelf), use);
}

}  // namespace brimwatch
