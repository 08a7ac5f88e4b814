// Any value of any row, changed behind the journal's back: the row's sum tells. Such a row is left out and counted, or
// what needs it says so; a changed value never passes for what was written.
#include <gmock/gmock.h>
#include <sqlite3.h>

#include <regex>

#include "story.h"

namespace brimwatch {
namespace {

using sample::must;

/// The file, as any other program sees it.
class Foreign {
 public:
  explicit Foreign(const std::string& path) { EXPECT_EQ(sqlite3_open(path.c_str(), &raw_), SQLITE_OK); }
  ~Foreign() { sqlite3_close(raw_); }
  Foreign(const Foreign&) = delete;
  Foreign& operator=(const Foreign&) = delete;

  std::vector<std::string> column(const std::string& sql) {
    std::vector<std::string> texts;
    const auto take = [](void* to, int, char** values, char**) {
      static_cast<std::vector<std::string>*>(to)->emplace_back(values[0]);
      return 0;
    };
    EXPECT_EQ(sqlite3_exec(raw_, sql.c_str(), take, &texts, nullptr), SQLITE_OK) << sql << ": " << sqlite3_errmsg(raw_);
    return texts;
  }
  int changed_by(const std::string& sql) {
    column(sql);
    return sqlite3_changes(raw_);
  }

 private:
  sqlite3* raw_ = nullptr;
};

/// One row of each kind. `with_earlier`: states of the day before too, where those of kDay are in their place.
void fill(const std::string& path, bool with_earlier) {
  auto journal = sample::open(path);
  JournalBatch earlier;
  earlier.watches.push_back(sample::watch_state("KLVN", sample::kDay - 1));
  earlier.symbols.push_back(sample::symbol_state("KLVN", sample::kDay - 1, 1));
  if (with_earlier) must(journal->commit(earlier));
  JournalBatch batch;
  batch.notices.push_back(sample::notice(1));
  batch.watches.push_back(sample::watch_state("KLVN", sample::kDay));
  batch.symbols.push_back(sample::symbol_state("KLVN", sample::kDay, 1));
  DayRecord record;
  record.symbol = "KLVN", record.day = sample::kDay, record.volume = Shares::whole(7);
  batch.days.push_back(record);
  batch.holes.push_back({"feed", "KLVN", Timestamp{1}, Timestamp{2}, "why"});
  must(journal->commit(batch, to_all({"mail"}), nullptr));
  must(journal->acknowledge(sample::notice(1).id, Timestamp{9}));
}

/// How many rows are read as sound, over all that can be asked; and whether anything was said to be wrong.
struct Found {
  std::size_t rows = 0;
  bool told = false;

  template <typename T>
  void add(const Result<std::vector<T>>& result) {
    if (result) rows += result->size();
    else told = true;
  }
};

Found read_all(const std::string& path) {
  Found found;
  auto journal = sample::open(path, {.check = false});
  if (journal == nullptr) return found;
  const std::string id = sample::notice(1).id;
  found.add(journal->notices({}));
  found.add(journal->deliveries(id));
  found.add(journal->open_deliveries());
  found.add(journal->acknowledgements(0));
  found.add(journal->watch_states({}));
  found.add(journal->symbol_states({}));
  found.add(journal->watch_states(sample::kDay));
  found.add(journal->symbol_states(sample::kDay));
  if (const auto days = journal->newest_days()) found.rows += days->size();
  else found.told = true;
  found.add(journal->days("KLVN", sample::kDay + 99, 9));
  found.add(journal->holes(Timestamp{0}, Timestamp{99}));
  found.told |= journal->damaged() > 0;
  return found;
}

constexpr const char* kTables[] = {"notices",       "deliveries",     "acknowledgements", "layouts",     "watch_states",
                                   "symbol_states", "newest_watches", "newest_symbols",   "newest_days", "days",
                                   "holes"};

class ChangedRows : public testing::TestWithParam<const char*> {};

TEST_P(ChangedRows, AreLeftOutAndCounted) {
  const std::string table = GetParam();
  sample::Folder folder;
  const bool with_earlier = table == "watch_states" || table == "symbol_states";
  fill(folder.file("whole"), with_earlier);
  const Found whole = read_all(folder.file("whole"));
  EXPECT_EQ(whole.rows, with_earlier ? 11U : 9U);
  EXPECT_FALSE(whole.told);
  const auto columns = Foreign(folder.file("whole")).column("SELECT name FROM pragma_table_info('" + table + "')");
  ASSERT_GT(columns.size(), 2U);
  for (const std::string& column : columns) {
    SCOPED_TRACE(table + "." + column);
    std::filesystem::copy_file(folder.file("whole"), folder.file("j"), std::filesystem::copy_options::overwrite_existing);
    const std::string other =
        "CASE typeof(@) WHEN 'text' THEN @ || 'x' WHEN 'blob' THEN CAST(x'07' || substr(@, 2) AS BLOB) "
        "WHEN 'null' THEN 1 ELSE @ + 9 END";
    const std::string sql = "UPDATE " + table + " SET @ = " + other;
    ASSERT_GT(Foreign(folder.file("j")).changed_by(std::regex_replace(sql, std::regex("@"), column)), 0);
    const Found found = read_all(folder.file("j"));
    // A key that is another's is looked for in vain; everything else is found to be wrong.
    if (table != "newest_days") {  // that is read from its records then
      EXPECT_LT(found.rows, whole.rows);
    }
    const bool is_of_state = column == "as_of" || column == "symbol" || column == "pivot";
    const bool is_key = column == "notice" || (table == "notices" && column == "seq") || (with_earlier && is_of_state) ||
                        ((table == "days" || table == "holes") && column == "symbol") || column == "id";
    EXPECT_TRUE(found.told || is_key);
  }
}

INSTANTIATE_TEST_SUITE_P(Journal, ChangedRows, testing::ValuesIn(kTables),
                         [](const auto& table) { return std::string(table.param); });

}  // namespace
}  // namespace brimwatch
