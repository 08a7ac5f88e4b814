// Desktop notifications over D-Bus. One watch's notices replace each other, so that they do not pile up; a button
// acknowledges where the server has buttons; the picture goes along where it shows any.
//
// Two threads share the bus under one lock: the channel's, which sends, and a listener of our own, which hears of
// buttons.
#include <poll.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <deque>
#include <map>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "adapters/channels/desktop/notification_bus.h"
#include "adapters/channels/makers.h"
#include "files/descriptor.h"

namespace brimwatch {
namespace {

/// Which of the server's ids stands for what. Bounded: the oldest are forgotten; a button of theirs then does nothing.
class Shown {
 public:
  void put(std::uint32_t id, const DesktopNote& note, const std::string& notice_id) {
    by_id_[id] = notice_id;
    by_thread_[note.thread] = {id, note.urgency};
    order_.push_back(id);
    if (order_.size() > kMost) forget_oldest();
  }
  struct Open {
    std::uint32_t id = 0;  ///< 0: none of the thread is on the screen
    Urgency urgency = Urgency::low;
  };
  [[nodiscard]] Open of_thread(const std::string& thread) const {
    const auto at = by_thread_.find(thread);
    return at == by_thread_.end() ? Open{} : at->second;
  }
  [[nodiscard]] std::string notice_of(std::uint32_t id) const {
    const auto at = by_id_.find(id);
    return at == by_id_.end() ? std::string() : at->second;
  }
  /// Closed by the person or expired: a later one of its thread is a new one, so that it is seen. Its button may still
  /// come.
  void closed(std::uint32_t id) {
    std::erase_if(by_thread_, [id](const auto& entry) { return entry.second.id == id; });
  }
  void clear() {
    by_id_.clear();
    by_thread_.clear();
    order_.clear();
  }

 private:
  static constexpr std::size_t kMost = 500;
  void forget_oldest() {
    const std::uint32_t id = order_.front();
    order_.pop_front();
    if (std::find(order_.begin(), order_.end(), id) != order_.end()) return;  // it was replaced since
    by_id_.erase(id);
    closed(id);
  }

  std::map<std::uint32_t, std::string> by_id_;
  std::map<std::string, Open> by_thread_;
  std::deque<std::uint32_t> order_;
};

bool wants_action(const Message& message) {
  return message.notices.size() == 1 && is_urgent(message.notices.front().notice.kind);
}

/// What the button acknowledges: the notice, for a repetition has a message id of its own that the journal does not know.
/// Empty where there is no button.
std::string notice_id_of(const Message& message) {
  return wants_action(message) ? message.notices.front().id : std::string();
}

class Desktop final : public Channel {
 public:
  Desktop(const ChannelSettings& settings, const ChannelContext& context)
      : timeout_(settings.timeout),
        picture_(settings.picture),
        acknowledged_(context.acknowledged),
        muted_(context.muted),
        bus_({[this](std::uint32_t id, const std::string& key) { on_action(id, key); },
              [this](std::uint32_t id) { shown_.closed(id); }, [this] { shown_.clear(); }}),
        wake_(::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)),
        listener_([this](const std::stop_token& stop) { listen(stop); }) {}

  ~Desktop() override {
    listener_.request_stop();
    poke();
    listener_.join();
  }
  Desktop(const Desktop&) = delete;
  Desktop& operator=(const Desktop&) = delete;

  Delivery send(const Message& message) override {
    const Deadline deadline = std::chrono::steady_clock::now() + timeout_;
    Delivery delivery = locked_send(message, deadline);
    poke();  // the connection may be a new one
    tell_pressed();
    return delivery;
  }

 private:
  Delivery locked_send(const Message& message, Deadline deadline) {
    const std::lock_guard lock(mutex_);
    const Result<ServerTraits> server = bus_.hello(deadline);
    if (!server) return {Outcome::retry, server.error().text, std::nullopt};
    DesktopNote note = desktop_note(message, *server);
    const Shown::Open before = shown_.of_thread(note.thread);
    // What stays until it is closed was not read yet: nor will be what takes its place, if that goes by itself.
    note.urgency = std::max(note.urgency, before.urgency);
    const bool with_picture = picture_ && server->images && !message.picture_png.empty();
    const NotificationBus::Sent sent =
        bus_.notify(note, server->actions && wants_action(message),
                    with_picture ? pixels_of(message.picture_png) : std::nullopt, before.id, deadline);
    if (sent.outcome == Outcome::delivered) shown_.put(sent.id, note, notice_id_of(message));
    bus_.drain();
    return {sent.outcome, server->name + ": " + sent.reply, std::nullopt};
  }

  void on_action(std::uint32_t id, const std::string& key) {
    const std::string notice_id = shown_.notice_of(id);
    if (!notice_id.empty()) pressed_.emplace_back(key, notice_id);
  }

  /// Outside the lock, so that who is told may send at once.
  void tell_pressed() {
    std::vector<std::pair<std::string, std::string>> pressed;
    {
      const std::lock_guard lock(mutex_);
      pressed.swap(pressed_);
    }
    for (const auto& [key, id] : pressed) {
      if (key == "acknowledge" && acknowledged_) acknowledged_(id);
      if (key == "mute" && muted_) muted_(id);
    }
  }

  void listen(const std::stop_token& stop) {
    while (!stop.stop_requested()) {
      pollfd watched[2] = {{wake_.get(), POLLIN, 0}, {-1, POLLIN, 0}};
      {
        const std::lock_guard lock(mutex_);
        watched[1].fd = bus_.fd();
      }
      ::poll(watched, 2, -1);
      std::uint64_t count = 0;
      if ((watched[0].revents & POLLIN) != 0) [[maybe_unused]]
        const auto got = ::read(wake_.get(), &count, sizeof count);
      if (watched[1].revents == 0) continue;
      {
        const std::lock_guard lock(mutex_);
        bus_.drain();
      }
      tell_pressed();
    }
  }

  void poke() const {
    const std::uint64_t one = 1;
    [[maybe_unused]] const auto put = ::write(wake_.get(), &one, sizeof one);
  }

  std::chrono::milliseconds timeout_;
  bool picture_;
  std::function<void(const std::string&)> acknowledged_, muted_;
  std::mutex mutex_;  ///< guards all of the following
  Shown shown_;
  std::vector<std::pair<std::string, std::string>> pressed_;  ///< key of the button, id of the notice
  NotificationBus bus_;
  Descriptor wake_;
  std::jthread listener_;
};

}  // namespace

Result<std::unique_ptr<Channel>> make_desktop(const ChannelSettings& settings, const ChannelContext& context) {
  return std::make_unique<Desktop>(settings, context);
}

}  // namespace brimwatch
