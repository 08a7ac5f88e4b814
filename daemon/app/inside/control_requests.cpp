#include "app/inside/control_requests.h"

#include <utility>

#include "answers/message.h"
#include "app/request.h"

namespace brimwatch {

Status ControlRequests::listen(boost::asio::io_context& loop, const std::string& socket) {
  auto server = ControlServer::listen(
      loop, socket, [this](std::string_view request, ControlServer::Reply reply) { take(request, std::move(reply)); });
  if (!server) return tl::unexpected(server.error());
  server_ = std::move(*server);
  return {};
}

void ControlRequests::take(std::string_view request, ControlServer::Reply reply) {
  if (world_.devices.ask(request, reply)) return;
  switch (ask_of(request)) {
    case Ask::now:
      return world_.now.get([reply](const SharedText::Text& text) { reply(*text); });
    case Ask::reload:
      return world_.reloads.ask(std::move(reply));
    case Ask::answer:
      return world_.answers.take(request, "command line", std::move(reply));
    case Ask::hand_over:
      return world_.shared.hand_over([reply = std::move(reply)](const std::string& refusal) {
        reply(refusal.empty() ? "{\"fine\":true}\n" : error_json(refusal));
      });
    case Ask::unknown:
      break;
  }
  reply(error_json("expected ask to be now, reload, hand-over, acknowledge, mute, unmute, drop, add, bought or sold"));
}

}  // namespace brimwatch
