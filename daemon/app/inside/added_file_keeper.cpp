#include "app/inside/added_file_keeper.h"

#include "app/added_file.h"

namespace brimwatch {

void AddedFileKeeper::keep(const std::string& list) {
  const auto refuse = [this](const std::string& why) {
    trouble_(LogLevel::warning, file_ + ": " + why + "; the journal has all of it");
  };
  chores_.start(
      [this, file = file_, list, refuse]() -> Worker::Answer {
        const Result<std::string> kept = keep_added_file(file, list);
        if (!kept) return [refuse, why = kept.error().text] { refuse(why); };
        if (kept->empty()) return {};
        return [this, aside = *kept] { tell_changed_by_hand(aside); };
      },
      refuse);
}

void AddedFileKeeper::tell_changed_by_hand(const std::string& aside) {
  const std::string text = file_ +
                           " was changed by hand; it is a copy that nobody reads, and nothing was taken from it: your "
                           "version is " +
                           aside +
                           " now. What is watched is changed by brimwatch watch add and watch drop, or in a list of "
                           "your own";
  say_(LogLevel::warning, text);
  house_.tell_self_check(text);
}

}  // namespace brimwatch
