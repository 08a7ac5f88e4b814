#include "app/inside/channel_maker.h"

#include <boost/asio/post.hpp>
#include <utility>

#include "adapters/channels/table.h"
#include "app/answer_links.h"
#include "app/shared_membership.h"
#include "config/loader.h"
#include "desk/channel_plans.h"
#include "loop/clock.h"

namespace brimwatch {

Result<std::unique_ptr<MessageRunner>> ChannelMaker::make(const ChannelSettings& settings, MessageRunner::Done done) {
  auto made = make_channel(settings, context_of(settings));
  if (!made) return tl::unexpected(made.error());
  auto channel = dressed(std::move(*made), settings);
  if (!channel) return tl::unexpected(channel.error());
  const auto& right = with_.right;
  if (right == nullptr) return std::make_unique<ChannelRunner>(std::move(*channel), std::move(done));
  *channel = while_it_may_speak(std::move(*channel), right);
  return while_it_may_speak(std::make_unique<ChannelRunner>(std::move(*channel), std::move(done)), right, with_.member);
}

ChannelContext ChannelMaker::context_of(const ChannelSettings& settings) {
  ChannelContext context = default_context();
  context.acknowledged = answers_with({.kind = AnswerKind::acknowledge, .who = settings.name});
  context.muted = answers_with({.kind = AnswerKind::mute, .who = settings.name, .span = "hour"});
  context.devices = with_.devices;
  context.taken = [this, name = name_of(settings)](const std::vector<std::string>& ids, const std::string& recipient) {
    boost::asio::post(loop_, [this, name, ids, recipient] { events_.taken(name, ids, recipient); });
  };
  if (with_.right != nullptr) context.may_send = [right = with_.right] { return right->holds(steady_now()); };
  return context;
}

/// That answer, to whichever notice the channel names.
std::function<void(const std::string& notice_id)> ChannelMaker::answers_with(const AnswerRequest& request) {
  return [this, request](const std::string& notice_id) {
    AnswerRequest asked = request;
    asked.notice = notice_id;
    boost::asio::post(loop_, [this, asked = std::move(asked)] { events_.answer(asked); });
  };
}

/// With all that goes into its messages besides their words.
Result<std::unique_ptr<Channel>> ChannelMaker::dressed(std::unique_ptr<Channel> channel,
                                                       const ChannelSettings& settings) const {
  if (shows_pictures(settings)) channel = pictured(std::move(channel), pictures_, picture_use(settings));
  if (settings.kind == "email") channel = std::make_unique<WithReviewPages>(std::move(channel), review_pages());
  if (settings.page_url.empty()) return channel;
  const auto links = AnswerLinks::open(with_.answer_key);
  if (!links) return tl::unexpected(links.error());
  return with_links(std::move(channel), *links, settings.page_url);
}

/// Called on a channel's thread. The settings are read anew: those in force belong to the loop's thread.
WithReviewPages::MakePage ChannelMaker::review_pages() const {
  return [journal = with_.journal, config = with_.config](const NoticeRecord& review) -> Result<EveningPage> {
    const Loaded loaded = load_settings(config, {.calendars = Calendar::known()});
    if (!loaded.ok()) return fail(to_string(loaded.problems.front()));
    auto made = make_evening_review(journal, loaded.settings, review.notice.day, review.notice.time, review.offset);
    if (!made) return tl::unexpected(made.error());
    return std::move(made->page);
  };
}

}  // namespace brimwatch
