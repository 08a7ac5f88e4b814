#include "answers/lists.h"

#include <memory>
#include <set>

#include "config/one_watch.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr const char* kHead =
    "# A copy for people of what was added and dropped with `brimwatch watch` or on the page. What counts is the "
    "journal:\n"
    "# nobody reads this file, and it is written anew at every such answer. What was changed here by hand is put aside\n"
    "# under another name and told. To change what is watched: brimwatch watch add, watch drop, or a list of your own.\n";

/// Checked when it was added; what the configuration has forbidden since is left out, and its row stays.
void add_one(const WatchKey& key, const Answer* added, std::uint16_t file, Settings& settings) {
  WatchInWords words{key.symbol, to_string(key.pivot), {}, {}};
  if (added != nullptr) words.note = added->note;
  if (added != nullptr && added->last_day != Date{}) words.until = to_string(added->last_day);
  auto watch = read_one_watch(words, settings);
  if (!watch) return;
  watch->file = file;
  settings.watches.push_back(*watch);
}

std::uint16_t number_of_file(Settings& settings) {
  for (std::size_t i = 0; i < settings.files.size(); ++i) {
    if (settings.files[i] == kAddedByAnswers) return static_cast<std::uint16_t>(i);
  }
  settings.files.emplace_back(kAddedByAnswers);
  return static_cast<std::uint16_t>(settings.files.size() - 1);
}

}  // namespace

void lay_over(Settings& settings, const AnswerBook& book) {
  if (book.leaves_lists_alone() && settings.given == nullptr) return;
  if (settings.given == nullptr) settings.given = std::make_shared<const WatchList>(settings.watches);
  const WatchList& given = *settings.given;
  WatchList watches;
  std::set<WatchKey> there;
  for (std::size_t i = 0; i < given.size(); ++i) {
    const WatchKey key{given.symbol(i), given.pivot(i)};
    if (book.dropped().contains(key)) continue;
    watches.push_back(given[i]);
    there.insert(key);
  }
  settings.watches = std::move(watches);
  const std::uint16_t file = number_of_file(settings);
  for (const auto& [key, answer] : book.added()) {
    if (there.insert(key).second) add_one(key, &answer, file, settings);
  }
  for (const auto& [symbol, holding] : book.holdings()) {
    if (there.insert(holding.watch).second) add_one(holding.watch, nullptr, file, settings);
  }
}

bool only_held(const Settings& settings, const AnswerBook& book, const WatchKey& key) {
  if (book.added().contains(key)) return false;
  const WatchList& given = settings.given != nullptr ? *settings.given : settings.watches;
  for (std::size_t i = 0; i < given.size(); ++i) {
    if (given.symbol(i) == key.symbol && given.pivot(i) == key.pivot) return book.dropped().contains(key);
  }
  return true;
}

std::string added_list(const AnswerBook& book) {
  std::string out = kHead;
  for (const auto& [key, answer] : book.dropped()) out += "# dropped: " + key.symbol + " " + to_string(key.pivot) + "\n";
  for (const auto& [key, answer] : book.added()) {
    std::string symbol, note;
    append_json_string(symbol, key.symbol);  // a JSON string is a TOML string
    append_json_string(note, answer.note);
    out += "\n[[watch]]\nsymbol = " + symbol + "\npivot = " + to_string(key.pivot) + "\n";
    if (!answer.note.empty()) out += "note = " + note + "\n";
    if (answer.last_day != Date{}) out += "until = " + to_string(answer.last_day) + "\n";
  }
  return out;
}

}  // namespace brimwatch
