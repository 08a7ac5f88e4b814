#include "app/records_desk.h"

#include <utility>

namespace brimwatch {
namespace {

JournalOptions visit() {
  JournalOptions options;
  options.create = false;  // whoever writes it makes it
  options.check = false;
  return options;
}

Status keep(const std::string& path, const std::string& notice_id, Timestamp at) {
  const auto journal = Journal::open(path, visit());
  if (!journal) return tl::unexpected(journal.error());
  return (*journal)->acknowledge(notice_id, at);
}

/// None where the journal cannot be read: whoever writes it says why.
std::vector<Acknowledgement> read_after(const std::string& path, std::int64_t seq) {
  const auto journal = Journal::open_read_only(path, visit());
  if (!journal) return {};
  auto found = (*journal)->acknowledgements(seq);
  return found ? std::move(*found) : std::vector<Acknowledgement>();
}

}  // namespace

void RecordsDesk::acknowledge(const std::string& notice_id, Timestamp at, std::function<void()> answer) {
  const auto refuse = [this, notice_id](const std::string& why) {
    say_(LogLevel::warning, "acknowledgement of " + notice_id + " is not kept: " + why);
  };
  const bool started = worker_.start(
      [path = path_, notice_id, at, answer = std::move(answer), refuse]() -> Worker::Answer {
        if (const Status kept = keep(path, notice_id, at); !kept)
          return [refuse, why = kept.error().text] { refuse(why); };
        return answer;
      },
      [refuse] { refuse("the journal has not answered for 10 s"); });
  if (!started) refuse("too many wait for a journal that does not answer");
}

/// The first look finds all there are: one may have been given after the open deliveries were read, and those that were
/// known then change nothing.
void RecordsDesk::new_acknowledgements(std::function<void(std::vector<std::string>)> answer) {
  if (std::exchange(looking_, true)) return;
  looking_ = worker_.start(
      [this, path = path_, seen = seen_, answer = std::move(answer)]() -> Worker::Answer {
        return [this, answer, found = read_after(path, seen)] {
          looking_ = false;
          if (found.empty()) return;
          seen_ = found.back().seq;
          std::vector<std::string> ids;
          for (const Acknowledgement& one : found) ids.push_back(one.notice_id);
          answer(std::move(ids));
        };
      },
      [this] { looking_ = false; });
}

}  // namespace brimwatch
