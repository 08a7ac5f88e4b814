#include "adapters/guessing/kinds/answers.h"

#include "adapters/guessing/kinds/line_of_names.h"
#include "adapters/guessing/names.h"

namespace brimwatch {

MessageKind without_symbol(const Table& table, const std::optional<MessageKind>& said) {
  if (said && !is_market(*said)) return *said;
  for (const PointerColumn& column : table.columns) {
    const bool about_error =
        column.pointer.find("error") != std::string::npos || column.pointer.find("Error") != std::string::npos;
    for (const Leaf* leaf : column.cells) {
      if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
      if (about_error && leaf->text != "false" && leaf->text != "0" && !leaf->text.empty()) return MessageKind::refused;
      const auto kind = leaf->kind == Leaf::Kind::text ? kind_of_word(leaf->text) : std::nullopt;
      if (kind == MessageKind::refused || kind == MessageKind::accepted) return *kind;
    }
  }
  return MessageKind::ignore;
}

std::optional<MessageKind> answer_in(const Table& table, const std::string& status) {
  std::optional<MessageKind> out;
  for (const Leaf* leaf : table.find(status)->cells) {
    if (leaf == nullptr || leaf->kind == Leaf::Kind::nothing) continue;
    out = leaf->kind == Leaf::Kind::text ? kind_of_word(leaf->text) : std::nullopt;
    if (out != MessageKind::accepted && out != MessageKind::refused) return std::nullopt;
  }
  return out;
}

void settle_answers(SortGuess& guess, const Table& table) {
  if (guess.kind == MessageKind::unknown) guess.kind = MessageKind::ignore;
  if (guess.kind != MessageKind::accepted) return;
  std::string said = guess.sort.word + " " + guess.sort.second;
  for (const PointerColumn& column : table.columns) said += " " + column.pointer + " " + first_text(column);
  const bool login = said.find("auth") != std::string::npos || said.find("login") != std::string::npos ||
                     said.find("logon") != std::string::npos;
  if (!login) guess.kind = MessageKind::ignore;
}

}  // namespace brimwatch
