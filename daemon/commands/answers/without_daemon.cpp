#include "commands/answers/without_daemon.h"

#include "answers/lists.h"
#include "app/snapshot_json.h"
#include "commands/load.h"
#include "config/paths.h"
#include "desk/answered_desk.h"
#include "desk/desk_view.h"
#include "files/text_file.h"
#include "journal/journal.h"
#include "live/restored_state.h"
#include "loop/clock.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

constexpr std::size_t kNamesMost = 5;

void warn_of(const std::string& why) {
  print_error("%s; what was added and dropped by answers is not known here (warning)\n", why.c_str());
}

std::string names_of(const std::map<WatchKey, Answer>& watches) {
  std::string out;
  std::size_t named = 0;
  for (const auto& [key, answer] : watches) {
    if (++named > kNamesMost) return out + " and " + std::to_string(watches.size() - kNamesMost) + " more";
    out += (out.empty() ? "" : ", ") + key.symbol + " " + to_string(key.pivot);
  }
  return out;
}

/// What the daemon would find when it starts; empty where there is no journal.
RestoredState kept_in(const std::string& path, Date today) {
  if (!is_there(path)) return {};
  auto journal = Journal::open_read_only(path);
  auto kept = journal ? read_kept(**journal, today) : Result<RestoredState>(tl::unexpected(journal.error()));
  if (kept) return std::move(*kept);
  warn_of(kept.error().text);
  return {};
}

}  // namespace

std::string journal_of(const Settings& settings, const std::string& given) {
  if (!given.empty()) return given;
  return settings.journal.empty() ? places().journal() : settings.journal;
}

AnswerBook answers_in(const std::string& journal) {
  if (!is_there(journal)) return {};
  auto opened = Journal::open_read_only(journal);
  const auto answers = opened ? (*opened)->answers({}, {}) : Result<std::vector<Answer>>(tl::unexpected(opened.error()));
  if (answers) return AnswerBook(*answers);
  warn_of(answers.error().text);
  return {};
}

std::string answers_in_words(const AnswerBook& book, const std::string& journal) {
  std::string out;
  const auto add = [&out](const std::string& what) { out += (out.empty() ? "" : "; ") + what; };
  if (!book.added().empty()) add("added " + names_of(book.added()));
  if (!book.dropped().empty()) add("dropped " + names_of(book.dropped()));
  if (!book.holdings().empty()) add("stocks held: " + std::to_string(book.holdings().size()));
  return out.empty() ? out : "by answers: " + out + " (" + journal + ")";
}

void lay_answers(Settings& settings, const std::string& journal) {
  const AnswerBook book = answers_in(journal);
  lay_over(settings, book);
  if (const std::string words = answers_in_words(book, journal); !words.empty()) print_error("%s\n", words.c_str());
}

std::vector<std::string> beside_list(const AnswerBook& book, const std::vector<WatchKey>& listed) {
  std::vector<std::string> out;
  for (const WatchKey& one : listed) {
    const std::string name = one.symbol + " " + to_string(one.pivot);
    if (book.dropped().contains(one))
      out.push_back(name + ": you dropped this watch, and it stays dropped though the list has it; brimwatch watch add " +
                    name + " brings it back");
    for (const auto& [key, answer] : book.added()) {
      if (key.symbol == one.symbol && key != one)
        out.push_back(name + ": the watch that you added, " + key.symbol + " " + to_string(key.pivot) +
                      ", stays beside it");
    }
  }
  return out;
}

std::optional<std::string> snapshot_without_daemon(const std::string& journal, CommandContext& context) {
  auto settings = load_or_tell(context);
  if (!settings) return context.exit = kBadConfig, std::nullopt;
  const std::string path = journal_of(*settings, journal);
  const auto calendar = Calendar::load(settings->session.calendar, settings->session.calendar_files);
  if (!calendar) return context.exit = tell(calendar.error(), kBadConfig), std::nullopt;
  const Timestamp now = wall_now();
  const Date today = (*calendar)->local_date(now);
  const RestoredState kept = kept_in(path, today);
  const AnswerBook book(kept.answers);
  lay_over(*settings, book);
  auto desk = Desk::open(std::move(*settings));
  if (!desk) return context.exit = tell(desk.error(), kBadConfig), std::nullopt;
  AnsweredDesk answered(**desk);
  answered.begin_with(book, today);
  (*desk)->engine().restore(kept.watches, kept.symbols);
  Snapshot view;
  view.time = now;
  describe_desk(**desk, now, view);
  answered.describe(view, today);
  return to_json(view, (*calendar)->offset(now));
}

}  // namespace brimwatch
