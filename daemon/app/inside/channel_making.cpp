// A channel and its runner, with what they may ask and tell.
#include <boost/asio/post.hpp>

#include "adapters/channels/table.h"
#include "app/inside/impl.h"
#include "config/loader.h"
#include "desk/channel_plans.h"

namespace brimwatch {

Result<std::unique_ptr<MessageRunner>> Daemon::Impl::make_runner(const ChannelSettings& settings,
                                                                 MessageRunner::Done done) {
  ChannelContext with = default_context();
  with.acknowledged = [this, name = settings.name](const std::string& id) {
    asio::post(io, [this, id, name] {
      house->answer({.kind = AnswerKind::acknowledge, .who = name, .notice = id},
                    [this](const auto& answered) { say_refused(answered); });
    });
  };
  with.muted = [this, name = settings.name](const std::string& id) {
    asio::post(io, [this, id, name] {
      house->answer({.kind = AnswerKind::mute, .who = name, .span = "hour", .notice = id},
                    [this](const auto& answered) { say_refused(answered); });
    });
  };
  with.devices = devices.devices();
  with.taken = [this, name = name_of(settings)](const std::vector<std::string>& ids, const std::string& recipient) {
    asio::post(io, [this, name, ids, recipient] { house->on_taken(name, ids, recipient); });
  };
  if (right != nullptr) with.may_send = [right = right] { return right->holds(steady_now()); };
  auto channel = make_channel(settings, with);
  if (!channel) return tl::unexpected(channel.error());
  if (shows_pictures(settings)) *channel = pictured(std::move(*channel), pictures, picture_use(settings));
  if (settings.kind == "email") *channel = std::make_unique<WithReviewPages>(std::move(*channel), review_pages());
  if (!settings.page_url.empty()) {
    if (const auto links = answer_links()) *channel = with_links(std::move(*channel), *links, settings.page_url);
    else return tl::unexpected(links.error());
  }
  if (right == nullptr) return std::make_unique<ChannelRunner>(std::move(*channel), std::move(done));
  *channel = while_it_may_speak(std::move(*channel), right);
  return while_it_may_speak(std::make_unique<ChannelRunner>(std::move(*channel), std::move(done)), right,
                            shared_settings.name);
}

/// Called on a channel's thread. The settings are read anew: those in force belong to the loop's thread.
WithReviewPages::MakePage Daemon::Impl::review_pages() {
  return [journal = places.journal, config = places.config](const NoticeRecord& review) -> Result<EveningPage> {
    const Loaded loaded = load_settings(config, {.calendars = Calendar::known()});
    if (!loaded.ok()) return fail(to_string(loaded.problems.front()));
    auto made = make_evening_review(journal, loaded.settings, review.notice.day, review.notice.time, review.offset);
    if (!made) return tl::unexpected(made.error());
    return std::move(made->page);
  };
}

/// Of an answer that nobody waits for.
void Daemon::Impl::say_refused(const Result<AnswerDone>& done) {
  if (!done) trouble(LogLevel::warning, "answer: " + done.error().text);
}

}  // namespace brimwatch
