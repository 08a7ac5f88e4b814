#pragma once
// The watches in force: the user's own lists with what was added, without what was dropped, and with the watches of
// stocks that are held. Pure.
#include <string>

#include "answers/book.h"
#include "config/settings.h"

namespace brimwatch {

/// In Settings::files, in the place of a file, for what no list of the user's own has.
inline constexpr const char* kAddedByAnswers = "watches added by answers";

/// Makes settings.watches anew of settings.given (which keeps the user's own lists as they were read). A watch that was
/// added and stands in a list by now is the list's. Where the book has nothing to say the settings stay as they are.
void lay_over(Settings& settings, const AnswerBook& book);

/// It is in force because its stock is held, and for no other reason: no list has it.
[[nodiscard]] bool only_held(const Settings& settings, const AnswerBook& book, const WatchKey& key);

/// What was added and what was dropped as a file for people, which may be used as a watch list elsewhere: TOML.
[[nodiscard]] std::string added_list(const AnswerBook& book);

}  // namespace brimwatch
