// What the house asks of the daemon around it.
#include <boost/asio/post.hpp>

#include "adapters/feeds/table.h"
#include "app/inside/impl.h"
#include "app/recording_row.h"
#include "config/secret.h"

namespace brimwatch {

HouseWorld Daemon::Impl::make_world() {
  HouseWorld world;
  world.wall = wall_now;
  world.steady = steady_now;
  world.post = [this](std::function<void()> what) { asio::post(io, std::move(what)); };
  world.say = [this](LogLevel level, std::string_view text, const LogFields& about) { log.say(level, text, about); };
  world.trouble = trouble_sink();
  world.make_feed = [this](const FeedSettings& settings) { return make_feed(settings, *context); };
  world.make_runner = [this](const ChannelSettings& settings, MessageRunner::Done done) {
    return make_runner(settings, std::move(done));
  };
  world.save_lessons = [this](LearnedBySymbol all, std::string file) { save_lessons(std::move(all), std::move(file)); };
  world.prepare = [this](Settings settings, std::function<void(ReadyDesk)> then) { prepare(std::move(settings), then); };
  world.keep_list = [this](const std::string& text) { keep_list(text); };
  world.make_review = [this](Date day, Timestamp now, std::function<void(NoticeRecord)> answer) {
    make_review(day, now, std::move(answer));
  };
  world.keep_days = [this](std::vector<std::pair<std::string, DailyBar>> days) { heard.keep(std::move(days)); };
  world.keep_picture = [this](const std::string& id, DayPicture picture) { pictures->put(id, std::move(picture)); };
  world.end = [this](const std::string& why) { asio::post(io, [this, why] { stop(why); }); };
  world.seed = std::random_device()();
  if (recorder != nullptr) let_record(world);
  if (right != nullptr) let_share(world);
  return world;
}

void Daemon::Impl::let_record(HouseWorld& world) {
  world.record_ticks = [this](std::span<const Tick> ticks) { recorder->ticks(ticks, context->symbols); };
  world.record_frame = [this](std::string_view feed, Timestamp received, std::string_view bytes) {
    recorder->frame(feed, received, bytes);
  };
  world.record_connection = [this](std::string_view feed, Timestamp at, bool up, std::string_view why) {
    recorder->connection(feed, at, up, why);
  };
  world.recording = [this] { return recording_row(recorder->counters()); };
}

/// As one of several machines.
void Daemon::Impl::let_share(HouseWorld& world) {
  world.stands_by = true;
  world.feed_at_takeover = shared_settings.feed == "at-takeover";
  world.share = [this](const Answer& answer, std::function<void(Status)> then) {
    if (shared != nullptr) shared->share(answer, std::move(then));
    else then(fail("the program is not ready; nothing was changed"));
  };
  world.shared = [this] { return shared == nullptr ? SharedRow{} : shared->row(); };
}

std::unique_ptr<FeedContext> Daemon::Impl::make_context(Desk& desk) {
  return std::make_unique<FeedContext>(
      FeedContext{io, desk.symbols(), wall_now, steady_now, trouble_sink(),
                  [](const SecretSource& source) { return read_secret(source); },
                  [this] { return std::uniform_real_distribution<double>(0, 1)(random); }});
}

void Daemon::Impl::trouble(LogLevel level, std::string_view text) { log.trouble(level, text, wall_now()); }

LogSink Daemon::Impl::trouble_sink() {
  return [this](LogLevel level, std::string_view text, const LogFields& about) {
    log.trouble(level, text, wall_now(), about);
  };
}

}  // namespace brimwatch
