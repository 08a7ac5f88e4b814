#pragma once
// A short life of a journal: numbered commits, each of a notice, a state and deliveries. Afterwards the numbers tell what
// is there: commit k is whole or it is not there at all.
#include <cstdint>
#include <string>

#include "../journal/sample.h"

namespace brimwatch::story {

inline constexpr int kCommits = 12;

inline JournalBatch batch(int number) {
  JournalBatch batch;
  batch.notices.push_back(sample::notice(number));
  batch.watches.push_back(sample::watch_state("KLVN", sample::kDay));
  batch.watches.back().crossing_time = Timestamp{number};
  return batch;
}

/// Commits from `from` on; every few of them the journal is closed and opened again, which empties its log. Returns how
/// many are promised: whose commit said that all is well.
inline int tell(const std::string& path, const JournalOptions& options, int from, std::string* error = nullptr,
                int* promised_now = nullptr) {
  int promised = from - 1;
  std::unique_ptr<Journal> journal;
  for (int number = from; number <= kCommits; ++number) {
    if (journal == nullptr || number % 5 == 0) {
      journal.reset();
      auto opened = Journal::open(path, options);
      if (!opened) {
        if (error != nullptr) *error = opened.error().text;
        return promised;
      }
      journal = std::move(*opened);
    }
    const Status status = journal->commit(batch(number), to_all({"mail"}), nullptr);
    if (!status) {
      journal->abandon();
      if (error != nullptr) *error = status.error().text;
      return promised;
    }
    promised = number;
    if (promised_now != nullptr) *promised_now = number;
  }
  return promised;
}

/// Which commits are there; -1 when one is there in part, or one is missing before a later one.
inline int whole_commits(Journal& journal) {
  const auto notices = journal.notices({});
  const auto watches = journal.watch_states({});
  const auto open = journal.open_deliveries();
  if (!notices || !watches || !open || journal.damaged() > 0) return -1;
  const int count = static_cast<int>(notices->size());
  for (int i = 0; i < count; ++i) {
    if ((*notices)[static_cast<std::size_t>(i)].notice.count != i + 1) return -1;
  }
  if (static_cast<int>(open->size()) != count) return -1;
  if (count == 0) return watches->empty() ? 0 : -1;
  return watches->size() == 1 && watches->front().crossing_time == Timestamp{count} ? count : -1;
}

}  // namespace brimwatch::story
