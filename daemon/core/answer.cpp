#include "core/answer.h"

#include <array>

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, kAnswerKinds> kWords{"acknowledge", "mute",   "unmute", "drop",
                                                            "add",         "bought", "sold"};

}  // namespace

std::string_view to_string(AnswerKind kind) { return kWords[static_cast<std::size_t>(kind)]; }

std::optional<AnswerKind> answer_kind_of(std::string_view word) {
  for (std::size_t i = 0; i < kWords.size(); ++i) {
    if (kWords[i] == word) return static_cast<AnswerKind>(i);
  }
  return std::nullopt;
}

}  // namespace brimwatch
