#include "config/init.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include "folder.h"
#include "support/whole_file.h"

namespace brimwatch {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

TEST(Init, writes_files_that_the_loader_takes) {
  const Folder folder;
  const auto written = write_first_files({folder.path("c"), folder.path("u"), "/usr/bin/brimwatch", false});
  ASSERT_TRUE(written) << written.error().text;
  EXPECT_THAT(*written,
              ElementsAre(folder.path("c/brimwatch.toml"), folder.path("c/more.csv"), folder.path("c/weekend.toml"),
                          folder.path("c/brimwatch.schema.json"), folder.path("u/brimwatch.service")));
  const Loaded loaded = load_settings(folder.path("c/brimwatch.toml"), {{"XNYS"}});
  EXPECT_THAT(folder.lines(loaded.problems), IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings), IsEmpty());
  EXPECT_THAT(
      test::whole_file(folder.path("u/brimwatch.service")),
      AllOf(HasSubstr("\nExecStart=/usr/bin/brimwatch run --config " + folder.path("c/brimwatch.toml") + "\n"),
            HasSubstr("\nExecReload=/usr/bin/brimwatch reload --config " + folder.path("c/brimwatch.toml") + "\n")));
  struct stat facts {};
  ASSERT_EQ(::stat(folder.path("c/brimwatch.toml").c_str(), &facts), 0);
  EXPECT_EQ(facts.st_mode & 0777U, 0600U);
}

TEST(Init, overwrites_nothing_unless_forced_and_keeps_the_old_files_then) {
  const Folder folder;
  const InitPlan plan{folder.path(), folder.path(), "/usr/bin/brimwatch", false};
  folder.write("weekend.toml", "mine");
  const auto refused = write_first_files(plan);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().text, "there already: " + folder.path("weekend.toml") +
                                      "; nothing was written; --force replaces them and keeps the old ones as NAME.old");
  EXPECT_FALSE(std::filesystem::exists(folder.path("brimwatch.toml")));

  InitPlan forced = plan;
  forced.force = true;
  ASSERT_TRUE(write_first_files(forced));
  EXPECT_EQ(test::whole_file(folder.path("weekend.toml.old")), "mine");
  EXPECT_THAT(test::whole_file(folder.path("weekend.toml")), HasSubstr("[[watch]]"));
}

TEST(Init, for_the_system_service_all_may_read_and_no_unit_is_written) {
  const Folder folder;
  const InitPlan plan = plan_system_init(folder.path("etc"), false);
  const auto written = write_first_files(plan);
  ASSERT_TRUE(written) << written.error().text;
  EXPECT_THAT(*written, ElementsAre(folder.path("etc/brimwatch.toml"), folder.path("etc/more.csv"),
                                    folder.path("etc/weekend.toml"), folder.path("etc/brimwatch.schema.json")));
  struct stat facts {};
  ASSERT_EQ(::stat(folder.path("etc/weekend.toml").c_str(), &facts), 0);
  EXPECT_EQ(facts.st_mode & 0777U, 0644U);
  ASSERT_EQ(::stat(folder.path("etc").c_str(), &facts), 0);
  EXPECT_EQ(facts.st_mode & 0777U, 0755U);
  EXPECT_EQ(plan_system_init("", false).directory, "/etc/brimwatch");
  // What a system service has not: a desktop, a home, a systemctl of its user's.
  const std::string main = test::whole_file(folder.path("etc/brimwatch.toml"));
  EXPECT_THAT(main, Not(HasSubstr("\nkind = \"desktop\"")));
  EXPECT_THAT(main, Not(HasSubstr("~/")));
  EXPECT_THAT(main, Not(HasSubstr("systemctl --user")));
  const Loaded loaded = load_settings(folder.path("etc/brimwatch.toml"), {{"XNYS"}});
  EXPECT_THAT(folder.lines(loaded.problems), IsEmpty());
}

TEST(Init, where_the_package_has_its_unit_none_is_copied_and_an_old_copy_is_named) {
  const Folder folder;
  InitPlan plan{folder.path("c"), folder.path("u"), "/usr/bin/brimwatch", false};
  plan.packaged_unit = "/usr/lib/systemd/user/brimwatch.service";
  EXPECT_EQ(unit_in_the_way(plan), "");
  const auto written = write_first_files(plan);
  ASSERT_TRUE(written) << written.error().text;
  EXPECT_EQ(written->size(), 4U);
  EXPECT_FALSE(std::filesystem::exists(folder.path("u/brimwatch.service")));
  // systemd.unit(5), UNIT FILE LOAD PATH: ~/.config/systemd/user goes before /usr/lib/systemd/user.
  std::filesystem::create_directory(folder.path("u"));
  folder.write("u/brimwatch.service", "");
  EXPECT_EQ(unit_in_the_way(plan), folder.path("u/brimwatch.service"));
}

TEST(Init, says_where_it_could_not_write) {
  const Folder folder;
  folder.write("file", "");
  const auto refused = write_first_files({folder.path("file/x"), folder.path(), "/usr/bin/brimwatch", false});
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text, HasSubstr(folder.path("file/x") + ": the folder cannot be made"));
}

TEST(Init, a_path_is_one_word_of_a_unit) {
  // systemd.service(5), COMMAND LINES: quotes, backslashes, '%' and '$'.
  EXPECT_EQ(unit_word("/usr/bin/brimwatch"), "/usr/bin/brimwatch");
  EXPECT_EQ(unit_word("/home/a b/100%/$x"), "\"/home/a b/100%%/$$x\"");
  EXPECT_EQ(unit_word("/a\"b\\c"), "\"/a\\\"b\\\\c\"");
}

}  // namespace
}  // namespace brimwatch
