#pragma once
// The status page as the settings in force want it: on this machine, and for paired devices. What is wrong with it costs
// the page, never the notices.
#include <boost/asio/io_context.hpp>
#include <functional>
#include <memory>
#include <string>

#include "adapters/net/tls_keys.h"
#include "app/base_pictures.h"
#include "app/device_desk.h"
#include "app/inside/chores.h"
#include "app/status_page.h"
#include "core/log_sink.h"
#include "live/house.h"

namespace brimwatch {

class PageService {
 public:
  struct World {
    std::function<Snapshot()> snapshot;
    /// As StatusPage::Source::post.
    std::function<void(const WebRequest& request, std::function<void(std::string json, bool done)> reply)> answer;
    LogSink say, trouble;
  };
  PageService(boost::asio::io_context& loop, const House& house, Chores& chores, DeviceDesk& devices, World world)
      : loop_(loop), house_(house), chores_(chores), devices_(devices), world_(std::move(world)) {}
  PageService(const PageService&) = delete;
  PageService& operator=(const PageService&) = delete;

  /// At the start and at a reload: what has not changed goes on, certificate and pictures are read anew.
  void show();
  void stop() { page_.reset(); }

 private:
  [[nodiscard]] StatusPage::Source source();
  void know_devices(const PageSettings& wanted);
  void open_to_devices(const PageSettings& wanted);
  void serve_devices(const PageSettings& wanted);
  void renew_keys(const PageSettings& wanted);
  void read_keys(const PageSettings& wanted, const std::string& otherwise,
                 std::function<void(std::shared_ptr<TlsKeys>)> then);
  void draw_pictures(const PageSettings& wanted);

  boost::asio::io_context& loop_;
  const House& house_;
  Chores& chores_;
  DeviceDesk& devices_;
  World world_;
  PageSettings shown_;
  BasePictures pictures_;
  std::shared_ptr<TlsKeys> keys_;  ///< of the page beyond this machine; null: none, or in the clear
  std::unique_ptr<StatusPage> page_;
};

}  // namespace brimwatch
