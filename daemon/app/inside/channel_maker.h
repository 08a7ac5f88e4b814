#pragma once
// Makes each channel and its runner, with what a channel may ask and tell: pictures, review pages, links to answer by,
// and whether this machine may speak.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "adapters/channels/context.h"
#include "adapters/push/devices.h"
#include "answers/request.h"
#include "app/evening_review.h"
#include "desk/notice_pictures.h"
#include "dispatch/runner.h"
#include "shared/right.h"

namespace brimwatch {

class ChannelMaker {
 public:
  /// What channels tell, on the loop's thread.
  struct Events {
    std::function<void(const AnswerRequest&)> answer;  ///< by a person, through the channel
    std::function<void(const std::string& channel, const std::vector<std::string>& notice_ids,
                       const std::string& recipient)>
        taken;  ///< one of its recipients has these notices
  };
  struct With {
    std::string config, journal, answer_key;  ///< files
    std::shared_ptr<Devices> devices;
    std::shared_ptr<SpeakingRight> right;  ///< null: the machine is alone
    std::string member;                    ///< its name among several
  };
  ChannelMaker(boost::asio::io_context& loop, With with, Events events)
      : loop_(loop), with_(std::move(with)), events_(std::move(events)) {}
  ChannelMaker(const ChannelMaker&) = delete;
  ChannelMaker& operator=(const ChannelMaker&) = delete;

  [[nodiscard]] Result<std::unique_ptr<MessageRunner>> make(const ChannelSettings& settings, MessageRunner::Done done);
  /// For the messages about that notice.
  void keep_picture(const std::string& notice_id, DayPicture picture) { pictures_->put(notice_id, std::move(picture)); }

 private:
  [[nodiscard]] ChannelContext context_of(const ChannelSettings& settings);
  [[nodiscard]] std::function<void(const std::string& notice_id)> answers_with(const AnswerRequest& request);
  [[nodiscard]] Result<std::unique_ptr<Channel>> dressed(std::unique_ptr<Channel> channel,
                                                         const ChannelSettings& settings) const;
  [[nodiscard]] WithReviewPages::MakePage review_pages() const;

  boost::asio::io_context& loop_;
  With with_;
  Events events_;
  std::shared_ptr<PictureShelf> pictures_ = std::make_shared<PictureShelf>();
};

}  // namespace brimwatch
