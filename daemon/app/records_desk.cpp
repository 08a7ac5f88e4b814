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

/// None where the journal cannot be read: whoever writes it says why.
std::vector<Acknowledgement> read_after(const std::string& path, std::int64_t seq) {
  const auto journal = Journal::open_read_only(path, visit());
  if (!journal) return {};
  auto found = (*journal)->acknowledgements(seq);
  return found ? std::move(*found) : std::vector<Acknowledgement>();
}

}  // namespace

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
