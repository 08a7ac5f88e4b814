// Every statement of a journal is refused in turn, before it runs and in the middle of it: whoever asked is told, what
// was half done is undone, and what was promised before is there.
#include <gmock/gmock.h>
#include <sqlite3.h>

#include <map>

#include "story.h"

namespace brimwatch {
namespace {

using sample::must;

/// Lets SQLite refuse one thing on all connections that are opened while it lives. By SQLite's own means: its authorizer
/// is asked while a statement is prepared, its progress handler every few steps of one that runs.
class Refusal {
 public:
  enum class When { prepared, running };
  friend void PrintTo(When when, std::ostream* out) { *out << (when == When::prepared ? "prepared" : "running"); }
  Refusal(When when, int at) : when_(when), at_(at) {
    now() = this;
    sqlite3_auto_extension(entry());
  }
  ~Refusal() {
    now() = nullptr;
    sqlite3_cancel_auto_extension(entry());
  }
  Refusal(const Refusal&) = delete;
  Refusal& operator=(const Refusal&) = delete;
  void stop() { at_ = -1; }
  [[nodiscard]] bool has_refused() const { return refused_; }

 private:
  static constexpr int kSteps = 8;

  static Refusal*& now() {
    static Refusal* one = nullptr;
    return one;
  }
  static void (*entry())() { return reinterpret_cast<void (*)()>(&Refusal::on_open); }
  static int on_open(sqlite3* raw, const char**, const void*) {
    if (now()->when_ == When::prepared) sqlite3_set_authorizer(raw, &Refusal::may, now());
    else sqlite3_progress_handler(raw, kSteps, &Refusal::goes_on, now());
    return SQLITE_OK;
  }
  static int may(void* self, int action, const char*, const char*, const char*, const char*) {
    // Once a statement, or nearly: not for each column that is read.
    if (action == SQLITE_READ || action == SQLITE_FUNCTION) return SQLITE_OK;
    return static_cast<Refusal*>(self)->is_now() ? SQLITE_DENY : SQLITE_OK;
  }
  static int goes_on(void* self) { return static_cast<Refusal*>(self)->is_now() ? 1 : 0; }
  bool is_now() {
    if (at_ < 0 || count_++ != at_) return false;
    return refused_ = true;
  }

  When when_;
  int at_, count_ = 0;
  bool refused_ = false;
};

/// What a daemon and its visitors ask of a journal, everything once. Which of it came to an end, by name.
struct Asked {
  std::vector<std::string> failed;
  int promised = 0;  ///< of the two commits

  void ask(const char* what, const Status& status) {
    if (status) return;
    EXPECT_THAT(status.error().text, testing::HasSubstr("journal")) << what;
    failed.push_back(what);
  }
  template <typename T>
  void ask(const char* what, const Result<T>& result) {
    ask(what, result ? Status{} : Status(tl::unexpected(result.error())));
  }
};

JournalBatch long_batch(int number, Date day) {
  JournalBatch batch;
  batch.day = day;
  batch.notices.push_back(sample::notice(number, day));
  batch.watches.push_back(sample::watch_state("KLVN", day));
  batch.symbols.push_back(sample::symbol_state("KLVN", day, number));
  DayRecord record;
  record.symbol = "KLVN", record.day = day, record.volume = Shares::whole(number);
  batch.days.push_back(record);
  batch.holes.push_back({"feed", "KLVN", Timestamp{number}, Timestamp{number + 1}, "why"});
  DeliveryRow sent;
  sent.notice_id = batch.notices.back().id, sent.channel = "mail", sent.state = DeliveryState::delivered;
  batch.deliveries.push_back(sent);
  return batch;
}

Asked ask_everything(const std::string& path) {
  Asked asked;
  auto opened = Journal::open(path);
  asked.ask("open", opened);
  if (!opened) return asked;
  Journal& journal = **opened;
  const Date later = sample::kDay + 120;  // so late that states are thinned out
  for (const auto& [number, day] : {std::pair(1, sample::kDay), std::pair(2, later)}) {
    const Status written = journal.commit(long_batch(number, day), to_all({"desk", "mail"}), nullptr);
    asked.ask("commit", written);
    asked.promised += written.has_value();
    if (!written) return asked;  // the writer closes it then
  }
  const std::string id = sample::notice(1).id;
  asked.ask("notices",
            journal.notices({.day = sample::kDay, .symbol = "KLVN", .kinds = {NoticeKind::crossed}, .limit = 5}));
  asked.ask("deliveries", journal.deliveries(id));
  asked.ask("open deliveries", journal.open_deliveries());
  asked.ask("acknowledge", journal.acknowledge(id, Timestamp{5}));
  asked.ask("acknowledged", journal.acknowledged(id));
  asked.ask("acknowledgements", journal.acknowledgements(0));
  asked.ask("highest count", journal.highest_count(sample::kDay, "KLVN", NoticeKind::crossed));
  asked.ask("watch states", journal.watch_states({}));
  asked.ask("symbol states", journal.symbol_states(later));
  asked.ask("newest days", journal.newest_days());
  asked.ask("days", journal.days("KLVN", later + 1, 9));
  asked.ask("holes", journal.holes(Timestamp{0}, Timestamp{9}));
  auto reader = Journal::open_read_only(path);
  asked.ask("open to read", reader);
  return asked;
}

class EveryStatement : public testing::TestWithParam<Refusal::When> {};

TEST_P(EveryStatement, RefusedIsToldAndUndone) {
  std::map<std::string, int> refusals;
  for (int at = 0;; ++at) {
    SCOPED_TRACE("refused: " + std::to_string(at));
    sample::Folder folder;
    Refusal refusal(GetParam(), at);
    const Asked asked = ask_everything(folder.file("j"));
    refusal.stop();
    if (!refusal.has_refused()) break;
    for (const std::string& what : asked.failed) ++refusals[what];
    EXPECT_LE(asked.failed.size(), 1U) << "one refusal, one answer";

    auto journal = sample::open(folder.file("j"));
    ASSERT_NE(journal, nullptr);
    const auto notices = must(journal->notices({}));
    EXPECT_GE(static_cast<int>(notices.size()), asked.promised);
    EXPECT_EQ(must(journal->symbol_states({})).size(), notices.empty() ? 0U : 1U) << "whole or not at all";
    EXPECT_EQ(must(journal->days("KLVN", sample::kDay + 999, 9)).size(), notices.size());
    for (const NoticeRecord& one : notices) EXPECT_EQ(must(journal->deliveries(one.id)).size(), 2U);
    EXPECT_EQ(journal->damaged(), 0U);
    journal.reset();
    EXPECT_THAT(ask_everything(folder.file("j")).failed, testing::IsEmpty()) << "and it goes on";
    if (HasFailure()) break;
  }
  // Each of them was refused at least once.
  for (const char* what :
       {"open", "commit", "notices", "deliveries", "open deliveries", "acknowledge", "acknowledged", "acknowledgements",
        "highest count", "watch states", "symbol states", "newest days", "days", "holes", "open to read"}) {
    EXPECT_GT(refusals[what], 0) << what;
  }
}

INSTANTIATE_TEST_SUITE_P(Sqlite, EveryStatement, testing::Values(Refusal::When::prepared, Refusal::When::running),
                         testing::PrintToStringParamName());

}  // namespace
}  // namespace brimwatch
