#pragma once
// A private message bus (a real dbus-daemon) and a notification server on it whose abilities and moods a test sets.
#include <fcntl.h>
#include <poll.h>
#include <sys/eventfd.h>
#include <sys/stat.h>
#include <systemd/sd-bus.h>
#include <unistd.h>

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <cstring>
#include <deque>
#include <filesystem>
#include <fstream>
#include <functional>
#include <mutex>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "tests/support/peer.h"

namespace brimwatch::testing_support {

/// Without service files of the machine: none of its programs is started by a call.
class PrivateBus {
 public:
  PrivateBus() : daemon_({"dbus-daemon", "--nofork", "--print-address=1", "--config-file=" + config()}) {
    ::setenv("DBUS_SESSION_BUS_ADDRESS", daemon_.line().c_str(), 1);
  }
  /// From now on a call to the notification service that finds none starts a program for it, and waits until somebody
  /// takes the name: a NotificationServer that is made after wait_for_start() gets the call.
  void offer_service() const {
    const std::string service = directory_.path() + "/services", begun = directory_.path() + "/begun";
    ::mkfifo(begun.c_str(), 0600);
    std::filesystem::create_directory(service);
    std::ofstream(service + "/n.service")
        << "[D-BUS Service]\nName=org.freedesktop.Notifications\nExec=/bin/sh -c 'echo > " << begun
        << "; exec sleep 60'\n";
    reload();
  }
  /// Until that program has been started; false: it was not.
  [[nodiscard]] bool wait_for_start() const {
    const int begun = ::open((directory_.path() + "/begun").c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    pollfd watched{begun, POLLIN, 0};
    const bool started = ::poll(&watched, 1, 10'000) == 1;
    ::close(begun);
    return started;
  }
  void kill() { daemon_.stop(); }
  /// The folder that holds a bus "bus", as XDG_RUNTIME_DIR does.
  [[nodiscard]] const std::string& folder() const { return directory_.path(); }
  void freeze() const { daemon_.signal(SIGSTOP); }

 private:
  /// Answered when it is done, which a SIGHUP is not (D-Bus specification, org.freedesktop.DBus.ReloadConfig).
  static void reload() {
    sd_bus* bus = nullptr;
    if (sd_bus_open_user(&bus) < 0 ||
        sd_bus_call_method(bus, "org.freedesktop.DBus", "/org/freedesktop/DBus", "org.freedesktop.DBus", "ReloadConfig",
                           nullptr, nullptr, "") < 0)
      std::abort();
    sd_bus_flush_close_unref(bus);
  }
  std::string config() {
    const std::string path = directory_.path() + "/bus.conf";
    std::ofstream(path)
        << "<busconfig><type>session</type><listen>unix:path=" << directory_.path() << "/bus</listen><servicedir>"
        << directory_.path()
        << "/services</servicedir><policy context=\"default\"><allow send_destination=\"*\"/><allow eavesdrop=\"true\"/>"
           "<allow own=\"*\"/></policy></busconfig>";
    return path;
  }
  TemporaryDirectory directory_;
  Peer daemon_;
};

struct ShownNote {
  std::string app, summary, body;
  std::uint32_t replaces = 0, id = 0;
  std::vector<std::string> actions;
  int urgency = -1, width = 0, height = 0;
  std::string sound;  ///< "none" when the server's own was asked to be silent
  std::size_t image_bytes = 0;
};

/// Listens in a thread of its own until it goes away.
class NotificationServer {
 public:
  struct Mood {
    std::vector<std::string> capabilities{"body", "body-markup", "actions", "icon-static"};
    bool silent_hello = false;   ///< hangs: answers nothing
    bool silent_notify = false;  ///< takes the notice and never says so
    std::string notify_error;    ///< name of a D-Bus error
  };
  NotificationServer() : NotificationServer(Mood{}) {}
  explicit NotificationServer(Mood mood) : mood_(std::move(mood)), wake_(::eventfd(0, EFD_CLOEXEC)) {
    if (sd_bus_open_user(&bus_) < 0) std::abort();
    sd_bus_add_object_vtable(bus_, nullptr, "/org/freedesktop/Notifications", "org.freedesktop.Notifications", kTable,
                             this);
    if (sd_bus_request_name(bus_, "org.freedesktop.Notifications", 0) < 0) std::abort();
    thread_ = std::thread([this] { serve(); });
  }
  ~NotificationServer() {
    run([this] { ending_ = true; });
    thread_.join();
    sd_bus_flush_close_unref(bus_);
    ::close(wake_);
  }
  NotificationServer(const NotificationServer&) = delete;
  NotificationServer& operator=(const NotificationServer&) = delete;

  /// The next notice that was asked for; empty summary when none came within the deadline.
  ShownNote next() {
    std::unique_lock lock(mutex_);
    came_.wait_for(lock, std::chrono::seconds(10), [this] { return !shown_.empty(); });
    if (shown_.empty()) return {};
    ShownNote note = shown_.front();
    shown_.pop_front();
    return note;
  }
  void press(std::uint32_t id, const std::string& key) {
    run([this, id, key] { emit("ActionInvoked", "us", id, key.c_str()); });
  }
  void close_note(std::uint32_t id) {
    run([this, id] { emit("NotificationClosed", "uu", id, 2U); });
  }

 private:
  template <typename... Values>
  void emit(const char* member, const char* types, Values... values) {
    sd_bus_emit_signal(bus_, "/org/freedesktop/Notifications", "org.freedesktop.Notifications", member, types, values...);
  }
  /// Runs `work` on the server's thread.
  void run(std::function<void()> work) {
    {
      const std::lock_guard lock(mutex_);
      work_.push_back(std::move(work));
    }
    const std::uint64_t one = 1;
    [[maybe_unused]] const auto put = ::write(wake_, &one, sizeof one);
  }
  void serve() {
    while (!ending_) {
      while (sd_bus_process(bus_, nullptr) > 0) {
      }
      pollfd watched[2] = {{sd_bus_get_fd(bus_), POLLIN, 0}, {wake_, POLLIN, 0}};
      ::poll(watched, 2, -1);
      if (watched[1].revents == 0) continue;
      std::uint64_t count = 0;
      [[maybe_unused]] const auto got = ::read(wake_, &count, sizeof count);
      std::deque<std::function<void()>> work;
      {
        const std::lock_guard lock(mutex_);
        work.swap(work_);
      }
      for (const auto& one : work) one();
      sd_bus_flush(bus_);
    }
  }
  static NotificationServer& of(void* self) { return *static_cast<NotificationServer*>(self); }
  static int on_information(sd_bus_message* call, void* self, sd_bus_error*) {
    if (of(self).mood_.silent_hello) return 1;
    return sd_bus_reply_method_return(call, "ssss", "scripted", "tests", "1", "1.2");
  }
  static int on_capabilities(sd_bus_message* call, void* self, sd_bus_error*) {
    sd_bus_message* reply = nullptr;
    sd_bus_message_new_method_return(call, &reply);
    sd_bus_message_open_container(reply, 'a', "s");
    for (const std::string& word : of(self).mood_.capabilities) sd_bus_message_append(reply, "s", word.c_str());
    sd_bus_message_close_container(reply);
    const int code = sd_bus_send(nullptr, reply, nullptr);
    sd_bus_message_unref(reply);
    return code;
  }
  static void read_hint(sd_bus_message* call, ShownNote& note) {
    const char* name = nullptr;
    const char* type = nullptr;
    sd_bus_message_read(call, "s", &name);
    sd_bus_message_peek_type(call, nullptr, &type);
    if (std::strcmp(name, "urgency") == 0) {
      std::uint8_t value = 0;
      sd_bus_message_read(call, "v", "y", &value);
      note.urgency = value;
    } else if (std::strcmp(name, "sound-name") == 0) {
      const char* sound = "";
      sd_bus_message_read(call, "v", "s", &sound);
      note.sound = sound;
    } else if (std::strcmp(name, "suppress-sound") == 0) {
      int is_quiet = 0;
      sd_bus_message_read(call, "v", "b", &is_quiet);
      if (is_quiet != 0) note.sound = "none";
    } else if (std::strcmp(name, "image-data") == 0) {
      int stride = 0, alpha = 0, bits = 0, channels = 0;
      const void* bytes = nullptr;
      sd_bus_message_enter_container(call, 'v', "(iiibiiay)");
      sd_bus_message_enter_container(call, 'r', "iiibiiay");
      sd_bus_message_read(call, "iiibii", &note.width, &note.height, &stride, &alpha, &bits, &channels);
      sd_bus_message_read_array(call, 'y', &bytes, &note.image_bytes);
      sd_bus_message_exit_container(call);
      sd_bus_message_exit_container(call);
    } else {
      sd_bus_message_skip(call, "v");
    }
  }
  static int on_notify(sd_bus_message* call, void* self, sd_bus_error* error) {
    NotificationServer& server = of(self);
    ShownNote note;
    const char *app = "", *icon = "", *summary = "", *body = "", *action = "";
    sd_bus_message_read(call, "susss", &app, &note.replaces, &icon, &summary, &body);
    note.app = app, note.summary = summary, note.body = body;
    sd_bus_message_enter_container(call, 'a', "s");
    while (sd_bus_message_read(call, "s", &action) > 0) note.actions.emplace_back(action);
    sd_bus_message_exit_container(call);
    sd_bus_message_enter_container(call, 'a', "{sv}");
    while (sd_bus_message_enter_container(call, 'e', "sv") > 0) {
      read_hint(call, note);
      sd_bus_message_exit_container(call);
    }
    note.id = note.replaces != 0 ? note.replaces : ++server.last_id_;
    {
      const std::lock_guard lock(server.mutex_);
      server.shown_.push_back(note);
    }
    server.came_.notify_all();
    if (!server.mood_.notify_error.empty()) return sd_bus_error_set(error, server.mood_.notify_error.c_str(), "not now");
    return server.mood_.silent_notify ? 1 : sd_bus_reply_method_return(call, "u", note.id);
  }
  static const sd_bus_vtable kTable[];

  Mood mood_;
  sd_bus* bus_ = nullptr;
  int wake_;
  std::uint32_t last_id_ = 0;
  bool ending_ = false;  ///< only the server's thread touches it
  std::mutex mutex_;
  std::condition_variable came_;
  std::deque<ShownNote> shown_;
  std::deque<std::function<void()>> work_;
  std::thread thread_;
};

inline const sd_bus_vtable NotificationServer::kTable[] = {
    SD_BUS_VTABLE_START(0),
    SD_BUS_METHOD("GetServerInformation", "", "ssss", &NotificationServer::on_information, SD_BUS_VTABLE_UNPRIVILEGED),
    SD_BUS_METHOD("GetCapabilities", "", "as", &NotificationServer::on_capabilities, SD_BUS_VTABLE_UNPRIVILEGED),
    SD_BUS_METHOD("Notify", "susssasa{sv}i", "u", &NotificationServer::on_notify, SD_BUS_VTABLE_UNPRIVILEGED),
    SD_BUS_SIGNAL("ActionInvoked", "us", 0),
    SD_BUS_SIGNAL("NotificationClosed", "uu", 0),
    SD_BUS_VTABLE_END};

}  // namespace brimwatch::testing_support
