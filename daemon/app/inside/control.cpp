// What is asked at the control socket, and what people answer.
#include <filesystem>

#include "answers/message.h"
#include "app/inside/impl.h"
#include "app/request.h"

namespace brimwatch {

void Daemon::Impl::answer(std::string_view request, ControlServer::Reply reply) {
  if (devices.ask(request, reply)) return;
  switch (ask_of(request)) {
    case Ask::now:
      return now_text.get([reply](const SharedText::Text& text) { reply(*text); });
    case Ask::reload:
      reload_replies.push_back(std::move(reply));
      return reload();
    case Ask::answer:
      return take_answer(request, "command line", std::move(reply));
    case Ask::hand_over:
      return hand_over(std::move(reply));
    case Ask::unknown:
      break;
  }
  reply(error_json("expected ask to be now, reload, hand-over, acknowledge, mute, unmute, drop, add, bought or sold"));
}

/// With the key that is beside the journal.
Result<AnswerLinks> Daemon::Impl::answer_links() const {
  return AnswerLinks::open((std::filesystem::path(places.journal).parent_path() / "answer.key").string());
}

/// `who` where the request does not say.
void Daemon::Impl::take_answer(std::string_view text, const std::string& who, ControlServer::Reply reply) {
  const auto links = is_link_request(text) ? answer_links() : Result<AnswerLinks>(fail(""));
  auto request = links ? links->request_of(text, wall_now()) : request_of(text);
  if (!request) return reply(error_json(request.error().text));
  if (request->who.empty()) request->who = who;
  house->answer(*request, [this, reply = std::move(reply)](const Result<AnswerDone>& done) {
    now_text.forget();
    reply(done ? done_json(done->answer, done->words, house->offset()) : error_json(done.error().text));
  });
}

/// From our own page, by one who may answer.
void Daemon::Impl::answer_page(const WebRequest& request, const std::function<void(std::string json, bool done)>& reply) {
  const std::string who = request.visitor.id.empty() ? "page" : request.visitor.name;
  take_answer(request.body, who, [reply](std::string json) {
    const bool done = json.starts_with("{\"done\"");
    reply(std::move(json), done);
  });
}

void Daemon::Impl::hand_over(ControlServer::Reply reply) {
  if (shared == nullptr) return reply(error_answer("there is no [shared] in the configuration"));
  shared->hand_over([reply = std::move(reply)](const std::string& error) {
    reply(error.empty() ? "{\"fine\":true}\n" : error_answer(error));
  });
}

}  // namespace brimwatch
