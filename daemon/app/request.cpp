#include "app/request.h"

#include "core/answer.h"
#include "core/text/json.h"

namespace brimwatch {
namespace {

constexpr int kDeepest = 8;  ///< nobody needs to nest a question

bool is_deep(std::string_view text) {
  int depth = 0;
  for (const char c : text) {
    if (c == '{' || c == '[') ++depth;
    if (c == '}' || c == ']') --depth;
    if (depth > kDeepest) return true;
  }
  return false;
}

}  // namespace

Ask ask_of(std::string_view request) {
  if (is_deep(request)) return Ask::unknown;
  const auto asked = Json::parse(request, nullptr, false);
  if (!asked.is_object()) return Ask::unknown;
  const auto ask = asked.find("ask");
  if (ask == asked.end() || !ask->is_string()) return Ask::unknown;
  const auto& word = ask->get_ref<const std::string&>();
  if (word == "now") return Ask::now;
  if (word == "hand-over") return Ask::hand_over;
  if (word == "reload") return Ask::reload;
  return answer_kind_of(word) || word == "link" ? Ask::answer : Ask::unknown;
}

}  // namespace brimwatch
