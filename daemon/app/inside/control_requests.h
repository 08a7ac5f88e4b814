#pragma once
// Requests at the control socket, and who answers each.
#include <boost/asio/io_context.hpp>
#include <memory>
#include <string>
#include <string_view>

#include "app/device_desk.h"
#include "app/inside/answer_intake.h"
#include "app/inside/reloads.h"
#include "app/inside/shared_part.h"
#include "app/shared_text.h"
#include "loop/control.h"

namespace brimwatch {

class ControlRequests {
 public:
  struct World {
    DeviceDesk& devices;
    const SharedText& now;  ///< the snapshot as JSON
    AnswerIntake& answers;
    Reloads& reloads;
    SharedPart& shared;
  };
  explicit ControlRequests(World world) : world_(world) {}
  ControlRequests(const ControlRequests&) = delete;
  ControlRequests& operator=(const ControlRequests&) = delete;

  [[nodiscard]] Status listen(boost::asio::io_context& loop, const std::string& socket);
  void stop() { server_.reset(); }

 private:
  void take(std::string_view request, ControlServer::Reply reply);

  World world_;
  std::unique_ptr<ControlServer> server_;
};

}  // namespace brimwatch
