#include "adapters/channels/desktop/notification_bus.h"

#include <systemd/sd-bus.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <cstring>

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr const char* kName = "org.freedesktop.Notifications";
constexpr const char* kPath = "/org/freedesktop/Notifications";
constexpr std::chrono::seconds kHelloMost{5};  ///< a server that takes longer to say who it is hangs

std::uint64_t left_us(Deadline deadline) {
  const auto left = std::chrono::duration_cast<std::chrono::microseconds>(deadline - std::chrono::steady_clock::now());
  return static_cast<std::uint64_t>(std::max<std::int64_t>(left.count(), 1));
}

struct MessageUnref {
  void operator()(sd_bus_message* message) const { sd_bus_message_unref(message); }
};
using MessagePtr = std::unique_ptr<sd_bus_message, MessageUnref>;

class BusError {
 public:
  BusError() = default;
  ~BusError() { sd_bus_error_free(&error_); }
  BusError(const BusError&) = delete;
  BusError& operator=(const BusError&) = delete;
  sd_bus_error* get() { return &error_; }
  [[nodiscard]] bool is(const char* name) const { return sd_bus_error_has_name(&error_, name) > 0; }
  [[nodiscard]] bool is_set() const { return sd_bus_error_is_set(&error_) > 0; }
  [[nodiscard]] std::string text(int code) const {
    if (error_.message != nullptr) return clean_line(error_.message, 200);
    return error_.name != nullptr ? clean_line(error_.name, 200) : std::strerror(-code);
  }

 private:
  sd_bus_error error_ = SD_BUS_ERROR_NULL;
};

bool connection_lost(int code) {
  return code == -ENOTCONN || code == -ECONNRESET || code == -EPIPE || code == -ESHUTDOWN || code == -ESTALE;
}

/// Where the user's service manager keeps the session's bus, whatever the environment of this process says.
std::string kept_bus() {
  const char* const runtime = std::getenv("XDG_RUNTIME_DIR");
  const bool named = runtime != nullptr && *runtime == '/';
  return (named ? std::string(runtime) : "/run/user/" + std::to_string(::getuid())) + "/bus";
}

int open_bus_at(const std::string& path, sd_bus** bus) {
  int code = ::access(path.c_str(), F_OK) == 0 ? sd_bus_new(bus) : -errno;
  if (code >= 0) code = sd_bus_set_description(*bus, "brimwatch");
  if (code >= 0) code = sd_bus_set_address(*bus, ("unix:path=" + path).c_str());
  if (code >= 0) code = sd_bus_set_bus_client(*bus, 1);
  return code >= 0 ? sd_bus_start(*bus) : code;
}

/// `code` of the address that the environment names; the kept one has been tried too.
std::string no_bus(int code) {
  const char* const named = std::getenv("DBUS_SESSION_BUS_ADDRESS");
  const std::string tried = named == nullptr || *named == 0 ? "DBUS_SESSION_BUS_ADDRESS is not set"
                                                            : clean_line(named, 100) + ": " + std::strerror(-code);
  return "no session bus (is a desktop session running?): " + tried + ", and none is at " + clean_line(kept_bus(), 100);
}

int append_actions(sd_bus_message* message, bool with_action) {
  return with_action ? sd_bus_message_append(message, "as", 4, "acknowledge", "Acknowledge", "mute", "Mute 1 hour")
                     : sd_bus_message_append(message, "as", 0);
}

/// The hint "image-data": width, height, row stride, has alpha, bits a sample, channels, bytes.
int append_picture(sd_bus_message* message, const Pixels& picture) {
  int code = sd_bus_message_open_container(message, 'e', "sv");
  if (code >= 0) code = sd_bus_message_append(message, "s", "image-data");
  if (code >= 0) code = sd_bus_message_open_container(message, 'v', "(iiibiiay)");
  if (code >= 0) code = sd_bus_message_open_container(message, 'r', "iiibiiay");
  if (code >= 0)
    code = sd_bus_message_append(message, "iiibii", picture.width, picture.height, picture.width * 4, 1, 8, 4);
  if (code >= 0) code = sd_bus_message_append_array(message, 'y', picture.rgba.data(), picture.rgba.size());
  for (int i = 0; i < 3 && code >= 0; ++i) code = sd_bus_message_close_container(message);
  return code;
}

int append_sound(sd_bus_message* message, const std::string& sound) {
  return sound.empty() ? sd_bus_message_append(message, "{sv}", "suppress-sound", "b", 1)
                       : sd_bus_message_append(message, "{sv}", "sound-name", "s", sound.c_str());
}

int append_hints(sd_bus_message* message, const DesktopNote& note, const std::optional<Pixels>& picture) {
  int code = sd_bus_message_open_container(message, 'a', "{sv}");
  if (code >= 0) code = sd_bus_message_append(message, "{sv}", "urgency", "y", static_cast<int>(note.urgency));
  if (code >= 0) code = append_sound(message, note.sound);
  if (code >= 0) code = sd_bus_message_append(message, "{sv}", "category", "s", "x-brimwatch.notice");
  if (code >= 0 && picture) code = append_picture(message, *picture);
  return code >= 0 ? sd_bus_message_close_container(message) : code;
}

}  // namespace

/// What sd-bus calls back: the object is the NotificationBus.
struct NotificationBus::Calls {
  static int on_action(sd_bus_message* message, void* self, sd_bus_error*) {
    std::uint32_t id = 0;
    const char* key = nullptr;
    if (sd_bus_message_read(message, "us", &id, &key) >= 0)
      static_cast<NotificationBus*>(self)->events_.on_action(id, key);
    return 0;
  }
  static int on_closed(sd_bus_message* message, void* self, sd_bus_error*) {
    std::uint32_t id = 0, reason = 0;
    if (sd_bus_message_read(message, "uu", &id, &reason) >= 0) static_cast<NotificationBus*>(self)->events_.on_closed(id);
    return 0;
  }
  static int on_owner(sd_bus_message* message, void* self, sd_bus_error*) {
    const char *name = nullptr, *before = nullptr, *after = nullptr;
    if (sd_bus_message_read(message, "sss", &name, &before, &after) >= 0)
      static_cast<NotificationBus*>(self)->note_server(after);
    return 0;
  }
};

NotificationBus::NotificationBus(Events events) : events_(std::move(events)) {}
NotificationBus::~NotificationBus() { drop(); }

/// By who answers, not by when the bus says that there is a new one: of a server that our own call started that is read
/// only after its answers.
void NotificationBus::note_server(const char* owner) {
  const std::string now = owner == nullptr ? "" : owner;
  if (now == server_) return;
  if (!server_.empty()) events_.on_server_gone();
  traits_.reset();
  server_ = now;
}

void NotificationBus::drop() {
  // Closed without a flush: what is still queued belongs to a call that was given up.
  if (bus_ != nullptr) {
    sd_bus_close(bus_);
    sd_bus_unref(bus_);
  }
  bus_ = nullptr;
  note_server("");
}

int NotificationBus::fd() const { return bus_ == nullptr ? -1 : sd_bus_get_fd(bus_); }

Status NotificationBus::listen() {
  const std::string from =
      std::string("type='signal',sender='") + kName + "',path='" + kPath + "',interface='" + kName + "',member=";
  const std::string owner = std::string("type='signal',sender='org.freedesktop.DBus',interface='org.freedesktop.DBus',") +
                            "member='NameOwnerChanged',arg0='" + kName + "'";
  int code = sd_bus_add_match_async(bus_, nullptr, (from + "'ActionInvoked'").c_str(), &Calls::on_action, nullptr, this);
  if (code >= 0)
    code =
        sd_bus_add_match_async(bus_, nullptr, (from + "'NotificationClosed'").c_str(), &Calls::on_closed, nullptr, this);
  if (code >= 0) code = sd_bus_add_match_async(bus_, nullptr, owner.c_str(), &Calls::on_owner, nullptr, this);
  return code >= 0 ? Status{} : Status(fail(std::string("cannot listen on the session bus: ") + std::strerror(-code)));
}

/// Until the bus has let us in.
int NotificationBus::enter(Deadline deadline) {
  int code = 0;
  while (code >= 0 && sd_bus_is_ready(bus_) == 0) {
    code = sd_bus_process(bus_, nullptr);
    if (code == 0) code = std::chrono::steady_clock::now() < deadline ? sd_bus_wait(bus_, left_us(deadline)) : -ETIMEDOUT;
  }
  return code;
}

/// A terminal outlives the login that it was opened in, and a job of cron or ssh never had one: the address in the
/// environment may be of a bus that is gone, or be missing.
Status NotificationBus::connect(Deadline deadline) {
  if (bus_ != nullptr && sd_bus_is_open(bus_) > 0) return {};
  drop();
  int code = sd_bus_open_user_with_description(&bus_, "brimwatch");
  if (code >= 0) code = enter(deadline);
  if (code < 0 && code != -ETIMEDOUT) {
    drop();
    const bool kept = open_bus_at(kept_bus(), &bus_) >= 0 && enter(deadline) >= 0;
    if (kept) code = 0;
  }
  if (code >= 0) {
    if (const Status listening = listen(); !listening) return drop(), listening;
    return {};
  }
  drop();
  return fail(code == -ETIMEDOUT ? "the session bus does not answer" : no_bus(code));
}

Result<sd_bus_message*> NotificationBus::call(const char* method, Deadline deadline) {
  BusError error;
  sd_bus_message* raw = nullptr;
  int code = sd_bus_message_new_method_call(bus_, &raw, kName, kPath, kName, method);
  const MessagePtr message(raw);
  sd_bus_message* reply = nullptr;
  if (code >= 0) code = sd_bus_call(bus_, message.get(), left_us(deadline), error.get(), &reply);
  if (code >= 0) return reply;
  if (!error.is_set() || connection_lost(code)) drop();
  if (error.is("org.freedesktop.DBus.Error.ServiceUnknown")) return fail("no notification server is running");
  if (code == -ETIMEDOUT) return fail("the notification server does not answer");
  return fail("the notification server: " + error.text(code));
}

Status NotificationBus::learn_capabilities(Deadline deadline) {
  auto reply = call("GetCapabilities", deadline);
  if (!reply) return tl::unexpected(reply.error());
  const MessagePtr message(*reply);
  ServerTraits traits;
  const char* word = nullptr;
  int code = sd_bus_message_enter_container(message.get(), 'a', "s");
  while (code > 0 && (code = sd_bus_message_read(message.get(), "s", &word)) > 0) {
    const std::string_view capability(word);
    traits.body |= capability == "body";
    traits.markup |= capability == "body-markup";
    traits.actions |= capability == "actions";
    traits.images |= capability == "icon-static" || capability == "icon-multi" || capability == "body-images";
  }
  if (code < 0) return fail("the notification server's capabilities cannot be read");
  traits_ = traits;
  return {};
}

Result<ServerTraits> NotificationBus::hello(Deadline deadline) {
  deadline = std::min(deadline, std::chrono::steady_clock::now() + kHelloMost);
  if (const Status connected = connect(deadline); !connected) return tl::unexpected(connected.error());
  drain();  // a server that went away is known by now
  auto reply = bus_ == nullptr ? Result<sd_bus_message*>(fail("the session bus went away"))
                               : call("GetServerInformation", deadline);
  if (!reply) return tl::unexpected(reply.error());
  const MessagePtr message(*reply);
  note_server(sd_bus_message_get_sender(message.get()));
  const char *name = "", *vendor = "", *version = "";
  if (sd_bus_message_read(message.get(), "sss", &name, &vendor, &version) < 0) {
    return fail("the notification server says nothing readable of itself");
  }
  if (!traits_) {
    if (const Status learned = learn_capabilities(deadline); !learned) return tl::unexpected(learned.error());
  }
  traits_->name = clean_line(name, 60) + " " + clean_line(version, 20);
  return *traits_;
}

NotificationBus::Sent NotificationBus::notify(const DesktopNote& note, bool with_action,
                                              const std::optional<Pixels>& picture, std::uint32_t replaces,
                                              Deadline deadline) {
  Sent sent;
  BusError error;
  sd_bus_message* raw = nullptr;
  int code = bus_ == nullptr ? -ENOTCONN : sd_bus_message_new_method_call(bus_, &raw, kName, kPath, kName, "Notify");
  const MessagePtr message(raw);
  if (code >= 0) {
    code = sd_bus_message_append(raw, "susss", "Brimwatch", replaces, "", note.summary.c_str(), note.body.c_str());
  }
  if (code >= 0) code = append_actions(raw, with_action);
  if (code >= 0) code = append_hints(raw, note, picture);
  if (code >= 0) code = sd_bus_message_append(raw, "i", -1);
  sd_bus_message* answer = nullptr;
  if (code >= 0) code = sd_bus_call(bus_, raw, left_us(deadline), error.get(), &answer);
  const MessagePtr reply(answer);
  if (code >= 0) code = sd_bus_message_read(reply.get(), "u", &sent.id);
  if (code >= 0) note_server(sd_bus_message_get_sender(reply.get()));
  if (code >= 0) return sent.outcome = Outcome::delivered, sent.reply = "id " + std::to_string(sent.id), sent;
  // It was awake a moment ago: when it does not answer now, it may have shown the notice all the same.
  sent.outcome = code == -ETIMEDOUT ? Outcome::unknown : Outcome::retry;
  sent.reply = error.text(code);
  if (!error.is_set() || connection_lost(code)) drop();
  return sent;
}

void NotificationBus::drain() {
  if (bus_ == nullptr) return;
  int code = 1;
  for (int rounds = 0; code > 0 && rounds < 1000; ++rounds) code = sd_bus_process(bus_, nullptr);
  if (code < 0) drop();
}

}  // namespace brimwatch
