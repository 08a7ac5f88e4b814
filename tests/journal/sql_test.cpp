// Statements: what a failed or finished one can be used for. After SQLite's own rule (sqlite.org/c3ref/bind_blob.html): a
// statement is bound before it is stepped or after a reset; else the answer is SQLITE_MISUSE.
#include "journal/sql.h"

#include <gmock/gmock.h>

#include "sample.h"

namespace brimwatch {
namespace {

using sample::must;

class Statements : public testing::Test {
 protected:
  sample::Folder folder_;
  Database file_ = must(Database::open(folder_.file("db"), Database::Mode::write, "", 0));
};

TEST_F(Statements, ThatCouldNotBeBoundAreReadyToBeBoundAnew) {
  auto statement = must(file_.prepare("SELECT ?1 UNION ALL SELECT 2"));
  statement.bind(1, std::int64_t{1});
  ASSERT_TRUE(must(statement.step()));
  statement.bind(1, std::int64_t{5});  // in the middle of its rows
  const auto refused = statement.step();
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text, testing::HasSubstr("cannot be kept"));
  statement.bind(1, std::int64_t{7});
  ASSERT_TRUE(must(statement.step()));
  EXPECT_EQ(statement.integer(0), 7);
}

TEST_F(Statements, ThatAreDoneBeginAgain) {
  auto statement = must(file_.prepare("SELECT ?1"));
  for (const std::int64_t value : {3, 4}) {
    statement.bind(1, value);
    ASSERT_TRUE(must(statement.step()));
    EXPECT_EQ(statement.integer(0), value);
    EXPECT_FALSE(must(statement.step()));
  }
}

// The operating system has no part in it: no word of its own stands behind.
TEST_F(Statements, ThatAreWrongSayWhatSqliteSays) {
  const auto refused = file_.run("SELECT 1 FROM nowhere");
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text, testing::EndsWith("(no such table: nowhere, code 1)"));
}

TEST_F(Statements, ThatRunAreReadyToo) {
  must(file_.run("CREATE TABLE t (v INTEGER CHECK (v < 10))"));
  auto insert = must(file_.prepare("INSERT INTO t VALUES (?) RETURNING v"));
  for (const std::int64_t value : {1, 2}) {
    insert.bind(1, value);
    must(insert.run());
  }
  insert.bind(1, std::int64_t{10});
  const auto refused = insert.run();
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text, testing::HasSubstr("CHECK"));
  insert.bind(1, std::int64_t{3});
  must(insert.run());
  EXPECT_EQ(must(file_.number("SELECT sum(v) FROM t")), 6);
}

}  // namespace
}  // namespace brimwatch
