#include "app/shared_membership.h"

#include <boost/asio/post.hpp>
#include <utility>

#include "adapters/channels/context.h"
#include "adapters/etcd/direct_call.h"
#include "config/address.h"
#include "config/deciding_rules.h"
#include "config/secret.h"
#include "loop/clock.h"
#include "shared/entries/watch_names.h"
#include "shared/may_come_twice.h"

namespace brimwatch {
namespace {

constexpr auto kSharedBeat = std::chrono::milliseconds(100);
constexpr auto kLeaveMost = std::chrono::milliseconds(600);
constexpr Nanos kHandOverMost = 5 * kSecond;  ///< what is on its way is waited for so long

VoiceSettings voice_settings(const SharedSettings& settings) {
  return {settings.name, settings.house, std::chrono::nanoseconds(settings.ttl).count(),
          std::chrono::nanoseconds(settings.alone_after).count()};
}

std::string clock_text(Timestamp time, std::chrono::seconds offset) { return to_rfc3339(time, offset).substr(11, 8); }

class GuardedRunner final : public MessageRunner {
 public:
  GuardedRunner(std::unique_ptr<MessageRunner> inner, std::shared_ptr<const SpeakingRight> right, std::string member)
      : inner_(std::move(inner)), right_(std::move(right)), member_(std::move(member)) {}
  bool submit(Send send) override {
    if (!right_->holds(steady_now())) return false;
    if (right_->is_alone()) {
      mark_as_alone(send.message.text, member_);
      for (NoticeRecord& record : send.message.notices) mark_as_alone(record, member_);
    }
    return inner_->submit(std::move(send));
  }
  bool stop(std::chrono::milliseconds most) override { return inner_->stop(most); }

 private:
  std::unique_ptr<MessageRunner> inner_;
  std::shared_ptr<const SpeakingRight> right_;
  std::string member_;
};

class GuardedChannel final : public Channel {
 public:
  GuardedChannel(std::unique_ptr<Channel> inner, std::shared_ptr<const SpeakingRight> right)
      : inner_(std::move(inner)), right_(std::move(right)) {}
  Delivery send(const Message& message) override {
    if (!right_->holds(steady_now())) return {Outcome::retry, "another machine may speak now", std::nullopt};
    return inner_->send(message);
  }

 private:
  std::unique_ptr<Channel> inner_;
  std::shared_ptr<const SpeakingRight> right_;
};

}  // namespace

std::unique_ptr<MessageRunner> while_it_may_speak(std::unique_ptr<MessageRunner> runner,
                                                  std::shared_ptr<const SpeakingRight> right, std::string member) {
  return std::make_unique<GuardedRunner>(std::move(runner), std::move(right), std::move(member));
}
std::unique_ptr<Channel> while_it_may_speak(std::unique_ptr<Channel> channel,
                                            std::shared_ptr<const SpeakingRight> right) {
  return std::make_unique<GuardedChannel>(std::move(channel), std::move(right));
}

SharedMembership::SharedMembership(boost::asio::io_context& loop, const SharedSettings& settings,
                                   std::shared_ptr<SpeakingRight> right, House& house, BatchKeeper& local,
                                   Records& records, Say say)
    : house_(house),
      say_(std::move(say)),
      settings_(settings),
      loop_(loop),
      log_(settings, {[&loop](std::function<void()> what) { boost::asio::post(loop, std::move(what)); },
                      [](const SecretSource& source) { return read_secret(source); }}),
      asking_(loop, {.deadline = std::chrono::seconds(5), .waiting_most = 16}),
      keeper_(voice_settings(settings), local, log_, std::move(right), house_of(), world_of()),
      records_(records, keeper_),
      timer_(loop),
      last_(loop) {
  keeper_.remember(house_.take_memory());
}

SharedKeeper::House SharedMembership::house_of() {
  SharedKeeper::House house;
  house.adopt = [this](const std::vector<WatchState>& watches) { house_.adopt(watches); };
  house.hear = [this](const std::vector<NoticeRecord>& notices) { house_.hear(notices); };
  house.speak = house.take_up = [this](std::vector<OpenDelivery> open) { house_.speak(std::move(open)); };
  house.stand_by = [this] { house_.stand_by(); };
  house.give_up_number = [this](const std::string& id) { house_.give_up_number(id); };
  house.acknowledge = [this](const std::string& id, Timestamp) { house_.acknowledge(id); };
  house.take_answers = [this](std::vector<Answer> answers) { house_.take_answers(std::move(answers)); };
  house.take_again = [this](const Answer& answer) { house_.take_again(answer); };
  house.mute_again = [this](const Answer& answer) { house_.mute_again(answer); };
  house.took_over = [this](const Takeover& takeover) { tell_taken_over(takeover); };
  if (settings_.feed == "at-takeover")
    house.begin_feed = [this](const std::vector<SymbolState>& symbols) { house_.begin_feed(symbols); };
  return house;
}

SharedKeeper::World SharedMembership::world_of() {
  SharedKeeper::World world;
  world.boot = steady_now;
  world.wall = wall_now;
  world.say = say_;
  world.describe = [this] { return describe(); };
  world.list = [this] { return list(); };
  world.rules = [this] { return rules(); };
  world.unheard = [this] { return house_.unheard(); };
  world.ask_directly = [this](const std::string& address, const std::function<void(std::string)>& then) {
    const bool asked = asking_.start(
        [settings = settings_, address, then]() -> Worker::Answer {
          return [then, said = ask_directly(settings, address)] { then(said); };
        },
        [then] { then(""); });
    if (!asked) boost::asio::post(loop_, [then] { then(""); });
  };
  return world;
}

const std::string& SharedMembership::list() {
  if (!list_.empty()) return list_;
  list_ = watch_names_text(house_.desk().settings().watches);
  list_hash_ = short_hash(list_);
  return list_;
}

const std::string& SharedMembership::rules() {
  if (!rules_.empty()) return rules_;
  rules_ = deciding_rules_text(house_.desk().settings());
  rules_hash_ = short_hash(rules_);
  return rules_;
}

SharedMember SharedMembership::describe() {
  (void)list(), (void)rules();
  SharedMember member;
  member.version = house_version();
  member.feed = settings_.feed, member.list = list_hash_, member.rules = rules_hash_;
  member.watches = house_.desk().settings().watches.size();
  member.trouble = house_.unwell();
  member.well = member.trouble.empty();
  if (door_ != nullptr) member.direct = settings_.direct;
  return member;
}

void SharedMembership::start() { beat(); }

void SharedMembership::beat() {
  timer_.expires_after(kSharedBeat);
  timer_.async_wait([this](const boost::system::error_code& error) {
    if (error || leaving_) return;
    keeper_.on_beat();
    for (const auto& [name, off] : keeper_.voice().clocks_off())
      if (keeper_.voice().leads() && clocks_told_.insert(name).second)
        house_.tell_self_check("the clocks of " + settings_.name + " and " + name + " are " +
                               std::to_string((off < 0 ? -off : off) / kSecond) +
                               " s apart; who speaks does not depend on it, times in notices do");
    const bool late = steady_now() - handing_since_ >= kHandOverMost;
    if (handing_over_ && (late || (house_.is_quiet() && keeper_.waiting() == 0)))
      keeper_.voice().step_down("handed over", std::exchange(handing_over_, {}));
    beat();
  });
}

void SharedMembership::hand_over(std::function<void(const std::string& error)> reply) {
  const SharedRow now = row();
  if (!keeper_.voice().leads())
    return reply("this machine, " + now.name + ", does not speak (" + now.role + ")" +
                 (now.speaker.empty() ? "" : "; ask on " + now.speaker));
  if (now.members.size() < 2) return reply("no other machine stands by; nothing is handed over");
  if (handing_over_) return reply("it is being handed over already");
  handing_over_ = std::move(reply);
  handing_since_ = steady_now();
}

void SharedMembership::leave(std::function<void()> then) {
  leaving_ = true;
  timer_.cancel();
  const auto once = std::make_shared<std::function<void()>>(std::move(then));
  const auto end = [once] {
    if (const auto what = std::exchange(*once, {})) what();
  };
  last_.expires_after(kLeaveMost);
  last_.async_wait([end](const boost::system::error_code&) { end(); });
  keeper_.voice().leave(end);
}

Status SharedMembership::answer_directly(const std::shared_ptr<TlsKeys>& keys) {
  const std::string authority = settings_.direct.substr(settings_.direct.find("//") + 2);
  const auto end = parse_listen(authority);
  if (!end) return fail("[shared]: direct: expected an address and a port, such as https://10.0.0.1:2390");
  WebServer::Content content;
  content.answer = [this](const WebRequest& request, const WebServer::Content::Reply& reply) {
    if (request.post || request.path != kDirectPath) return reply({404, "text/plain", "nothing is here\n"});
    reply({200, "application/json", direct_answer()});
  };
  content.live = [](bool, const WebServer::Content::Text& text) { text(std::make_shared<const std::string>()); };
  auto door = WebServer::listen(loop_, WebPlace{end->port, end->host, authority, keys}, std::move(content));
  if (!door) return fail(door.error().text);
  door_ = std::move(*door);
  return {};
}

/// Made by the loop: where it hangs, nothing is answered.
std::string SharedMembership::direct_answer() const {
  const Voice& voice = keeper_.voice();
  return to_value(DirectAnswer{settings_.house, settings_.name, std::string(to_string(voice.role())), house_.is_well()});
}

/// One notice, whatever the machine: who fell silent, who speaks, what nobody has heard.
void SharedMembership::tell_taken_over(const Takeover& takeover) {
  const std::chrono::seconds offset = house_.offset();
  const Timestamp now = wall_now();
  const bool own_feed = settings_.feed == "own";
  // Its lease outlives it: it may have fallen silent so much earlier.
  const Nanos most = std::max<Nanos>(now - takeover.heard, 0) + std::chrono::nanoseconds(settings_.ttl).count();
  const std::string unheard = own_feed ? "nothing" : "up to " + std::to_string(most / kSecond) + " s";
  const std::string before = takeover.how.empty() ? " fell silent by " : " " + takeover.how + " at ";
  house_.tell_taken_over(takeover.from + before + clock_text(takeover.heard, offset) + "; " + settings_.name +
                         " speaks since " + clock_text(now, offset) + "; unheard: " + unheard);
}

void SharedMembership::SharedRecords::acknowledge(const std::string& notice_id, Timestamp at,
                                                  std::function<void()> answer) {
  keeper_.acknowledge(notice_id, at);
  inner_.acknowledge(notice_id, at, std::move(answer));
}

void SharedMembership::SharedRecords::new_acknowledgements(std::function<void(std::vector<std::string>)> answer) {
  inner_.new_acknowledgements([this, answer = std::move(answer)](std::vector<std::string> ids) {
    keeper_.acknowledged_here(ids, wall_now());
    answer(std::move(ids));
  });
}

}  // namespace brimwatch
