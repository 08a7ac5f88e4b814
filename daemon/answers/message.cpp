#include "answers/message.h"

#include <algorithm>
#include <array>

#include "config/reading/value.h"
#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

tl::unexpected<Error> unreadable(const std::string& why) { return fail(why + "; nothing was changed"); }

struct Field {
  const char* name;
  std::string AnswerRequest::*where;
};
constexpr std::array kFields{Field{"who", &AnswerRequest::who},       Field{"id", &AnswerRequest::id},
                             Field{"symbol", &AnswerRequest::symbol}, Field{"pivot", &AnswerRequest::pivot},
                             Field{"price", &AnswerRequest::price},   Field{"shares", &AnswerRequest::shares},
                             Field{"for", &AnswerRequest::span},      Field{"note", &AnswerRequest::note},
                             Field{"until", &AnswerRequest::until},   Field{"notice", &AnswerRequest::notice}};

/// Texts only: a number in JSON would have gone through a double somewhere.
Status take_field(const std::string& name, const OrderedJson& value, AnswerRequest& request) {
  const auto field = std::find_if(kFields.begin(), kFields.end(), [&](const Field& one) { return name == one.name; });
  if (field == kFields.end()) return unreadable("found a field " + in_quotes(name) + ", expected none of that name");
  if (!value.is_string()) return unreadable(name + ": found something else, expected text in quotes");
  request.*(field->where) = value.get<std::string>();
  return {};
}

OrderedJson body(const Answer& answer, std::chrono::seconds offset) {
  OrderedJson out;
  out["id"] = answer.id;
  out["kind"] = to_string(answer.kind);
  out["who"] = answer.who;
  out["at"] = to_rfc3339(answer.at, offset);
  out["time"] = to_rfc3339(answer.time, offset);
  out["day"] = to_string(answer.day);
  if (!answer.symbol.empty()) out["symbol"] = answer.symbol;
  if (answer.pivot.is_set()) out["pivot"] = to_string(answer.pivot);
  if (answer.price.is_set()) out["price"] = to_string(answer.price);
  if (answer.shares > Shares{}) out["shares"] = to_string(answer.shares);
  if (answer.until.is_set()) out["until"] = to_rfc3339(answer.until, offset);
  if (answer.under_pivot) out["under_pivot"] = true;
  if (answer.last_day != Date{}) out["last_day"] = to_string(answer.last_day);
  if (!answer.note.empty()) out["note"] = answer.note;
  if (!answer.notice.empty()) out["notice"] = answer.notice;
  return out;
}

}  // namespace

Result<AnswerRequest> request_of(std::string_view json) {
  constexpr int kDeepest = 8;
  if (std::count(json.begin(), json.end(), '[') + std::count(json.begin(), json.end(), '{') > kDeepest)
    return unreadable("found more brackets than a request has");
  const OrderedJson asked = OrderedJson::parse(json, nullptr, false);
  if (!asked.is_object()) return unreadable("found no JSON object");
  AnswerRequest request;
  const auto ask = asked.find("ask");
  const auto kind = ask != asked.end() && ask->is_string() ? answer_kind_of(ask->get<std::string>()) : std::nullopt;
  if (!kind) return unreadable("ask: expected acknowledge, mute, unmute, drop, add, bought or sold");
  request.kind = *kind;
  for (const auto& [name, value] : asked.items()) {
    if (name == "ask") continue;
    if (const Status taken = take_field(name, value, request); !taken) return tl::unexpected(taken.error());
  }
  return request;
}

std::string to_json(const AnswerRequest& request) {
  OrderedJson out;
  out["ask"] = to_string(request.kind);
  for (const Field& field : kFields) {
    if (!(request.*(field.where)).empty()) out[field.name] = request.*(field.where);
  }
  return json_text(out);
}

std::string to_json(const Answer& answer, std::chrono::seconds offset) { return json_line(body(answer, offset)); }

std::string done_json(const Answer& answer, const std::string& words, std::chrono::seconds offset) {
  return json_line(OrderedJson{{"done", words}, {"answer", body(answer, offset)}});
}

std::string error_json(const std::string& why) { return json_line(OrderedJson{{"error", clean_line(why, 500)}}); }

}  // namespace brimwatch
