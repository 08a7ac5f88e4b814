#include "app/inside/answer_intake.h"

#include <utility>

#include "answers/message.h"
#include "app/answer_links.h"
#include "loop/clock.h"

namespace brimwatch {

Result<AnswerRequest> AnswerIntake::read(std::string_view request) const {
  if (!is_link_request(request)) return request_of(request);
  const auto links = AnswerLinks::open(key_file_);
  return links ? links->request_of(request, wall_now()) : request_of(request);
}

void AnswerIntake::take(std::string_view text, const std::string& who, Reply reply) {
  auto request = read(text);
  if (!request) return reply(error_json(request.error().text));
  if (request->who.empty()) request->who = who;
  house_.answer(*request, [this, reply = std::move(reply)](const Result<AnswerDone>& done) {
    taken_();
    reply(done ? done_json(done->answer, done->words, house_.offset()) : error_json(done.error().text));
  });
}

void AnswerIntake::take_from_page(const WebRequest& request,
                                  const std::function<void(std::string json, bool done)>& reply) {
  const std::string who = request.visitor.id.empty() ? "page" : request.visitor.name;
  take(request.body, who, [reply](std::string json) {
    const bool done = json.starts_with("{\"done\"");
    reply(std::move(json), done);
  });
}

}  // namespace brimwatch
