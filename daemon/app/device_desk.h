#pragma once
// Devices, as the page and the command line speak of them: pairing, who am I, notify this device; list and revoke. Paths
// of the page: GET /device; POST /pair {"code"}, /push (a subscription as the browser gives it), /push/off {"endpoint"}.
// On the control socket: {"ask":"pair","name","right"}, {"ask":"devices"}, {"ask":"revoke","device"}.
//
// On the loop's thread; what writes the file is done aside.
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "adapters/net/web_server.h"
#include "adapters/push/devices.h"
#include "adapters/push/pairing.h"
#include "app/shared_text.h"
#include "core/log_sink.h"

namespace brimwatch {

class DeviceDesk {
 public:
  struct World {
    RunAside aside;
    std::function<Timestamp()> wall;
    std::function<Nanos()> steady;
    LogSink say;
  };
  using Reply = WebServer::Content::Reply;
  using Tell = std::function<void(std::string)>;

  /// A file that cannot be read is told: then no device is known, none is added, and nothing is pushed.
  DeviceDesk(const std::string& file, World world);

  /// Null where the file cannot be read.
  [[nodiscard]] const std::shared_ptr<Devices>& devices() const { return devices_; }
  [[nodiscard]] Visitor visitor(std::string_view cookie) const;
  /// What devices ask, "https://..."; empty: the page is not open to them. And whether a push channel is configured.
  void know(std::string address, bool pushes);

  /// False: not one of its paths.
  bool answer(const WebRequest& request, const Reply& reply);
  /// False: not one of its requests.
  bool ask(std::string_view request, const Tell& tell);

 private:
  void who_am_i(const WebRequest& request, const Reply& reply) const;
  void pair(const WebRequest& request, const Reply& reply);
  void subscribe(const WebRequest& request, const Reply& reply) const;
  void unsubscribe(const WebRequest& request, const Reply& reply) const;
  [[nodiscard]] std::string offer(std::string_view name, std::string_view right);
  [[nodiscard]] std::string list() const;
  void revoke(std::string_view which, const Tell& tell) const;
  /// `work` may block; `then` gets what it gave, on the loop.
  void off_the_loop(std::function<Result<std::string>()> work, std::function<void(Result<std::string>)> then) const;

  World world_;
  std::shared_ptr<Devices> devices_;
  Pairing pairing_;
  std::string address_, trouble_;
  bool pushes_ = false;
};

}  // namespace brimwatch
