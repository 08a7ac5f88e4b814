#pragma once
// The session bus and the notification server on it, by sd-bus. Not thread-safe: its owner locks.
//
// A lost connection, a restarted server and a server that hangs are told apart from one that answers; the next call
// connects anew. Nothing here blocks past its deadline.
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "adapters/channels/desktop/desktop_text.h"
#include "adapters/channels/desktop/pixels.h"
#include "core/result.h"

struct sd_bus;
struct sd_bus_message;

namespace brimwatch {

using Deadline = std::chrono::steady_clock::time_point;

class NotificationBus {
 public:
  struct Events {
    std::function<void(std::uint32_t id, const std::string& key)> on_action;
    std::function<void(std::uint32_t id)> on_closed;
    std::function<void()> on_server_gone;  ///< its ids mean nothing any more
  };
  explicit NotificationBus(Events events);
  ~NotificationBus();
  NotificationBus(const NotificationBus&) = delete;
  NotificationBus& operator=(const NotificationBus&) = delete;

  /// Connects where needed and asks the server who it is, which also shows that it is awake.
  [[nodiscard]] Result<ServerTraits> hello(Deadline deadline);

  struct Sent {
    std::uint32_t id = 0;
    Outcome outcome = Outcome::retry;
    std::string reply;
  };
  [[nodiscard]] Sent notify(const DesktopNote& note, bool with_action, const std::optional<Pixels>& picture,
                            std::uint32_t replaces, Deadline deadline);

  /// Handles what has come in; never blocks.
  void drain();
  [[nodiscard]] int fd() const;  ///< to poll for reading; -1 when not connected

 private:
  struct Calls;  // sd-bus calls back
  [[nodiscard]] Status connect(Deadline deadline);
  [[nodiscard]] int enter(Deadline deadline);
  [[nodiscard]] Status listen();
  [[nodiscard]] Result<sd_bus_message*> call(const char* method, Deadline deadline);
  [[nodiscard]] Status learn_capabilities(Deadline deadline);
  void drop();
  void note_server(const char* owner);

  Events events_;
  sd_bus* bus_ = nullptr;
  std::string server_;                  ///< the unique name of the server that answered last
  std::optional<ServerTraits> traits_;  ///< of that one
};

}  // namespace brimwatch
