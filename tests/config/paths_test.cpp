// Places after the XDG Base Directory Specification 0.8 and systemd.exec(5).
#include "config/paths.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include <cstdlib>
#include <map>
#include <optional>

#include "folder.h"

namespace brimwatch {
namespace {

/// The variables that say where files live; put back as they were afterwards.
struct Paths : testing::Test {
  static constexpr const char* kNames[] = {"HOME",
                                           "XDG_CONFIG_HOME",
                                           "XDG_STATE_HOME",
                                           "XDG_DATA_HOME",
                                           "XDG_RUNTIME_DIR",
                                           "XDG_CONFIG_DIRS",
                                           "CONFIGURATION_DIRECTORY",
                                           "STATE_DIRECTORY",
                                           "RUNTIME_DIRECTORY"};
  std::map<std::string, std::optional<std::string>> kept;

  Paths() {
    for (const char* name : kNames) {
      const char* value = std::getenv(name);
      kept[name] = value != nullptr ? std::optional<std::string>(value) : std::nullopt;
      ::unsetenv(name);
    }
    set("HOME", "/home/me");
  }
  ~Paths() override {
    for (const auto& [name, value] : kept) {
      if (value) ::setenv(name.c_str(), value->c_str(), 1);
      else ::unsetenv(name.c_str());
    }
  }
  static void set(const char* name, const std::string& value) { ::setenv(name, value.c_str(), 1); }
};

TEST_F(Paths, have_the_defaults_of_the_specification) {
  const Places at = places();
  EXPECT_EQ(at.config_file(), "/home/me/.config/brimwatch/brimwatch.toml");
  EXPECT_EQ(at.journal(), "/home/me/.local/state/brimwatch/journal.db");
  EXPECT_EQ(at.data, "/home/me/.local/share/brimwatch");
  EXPECT_EQ(at.control_socket(), "/home/me/.local/state/brimwatch/control.sock");
  EXPECT_TRUE(at.runtime_is_fallback);
}

TEST_F(Paths, follow_the_variables) {
  set("XDG_CONFIG_HOME", "/c");
  set("XDG_STATE_HOME", "/s");
  set("XDG_DATA_HOME", "/d");
  set("XDG_RUNTIME_DIR", "/run/user/1000");
  const Places at = places();
  EXPECT_EQ(at.config, "/c/brimwatch");
  EXPECT_EQ(at.state, "/s/brimwatch");
  EXPECT_EQ(at.data, "/d/brimwatch");
  EXPECT_EQ(at.control_socket(), "/run/user/1000/brimwatch/control.sock");
  EXPECT_EQ(at.lock(), "/run/user/1000/brimwatch/lock");
  EXPECT_FALSE(at.runtime_is_fallback);
}

TEST_F(Paths, pass_over_relative_and_empty_values) {
  set("XDG_CONFIG_HOME", "relative");
  set("XDG_STATE_HOME", "");
  set("XDG_RUNTIME_DIR", "./run");
  const Places at = places();
  EXPECT_EQ(at.config, "/home/me/.config/brimwatch");
  EXPECT_EQ(at.state, "/home/me/.local/state/brimwatch");
  EXPECT_TRUE(at.runtime_is_fallback);
}

TEST_F(Paths, take_a_services_own_folders_first) {
  set("XDG_CONFIG_HOME", "/c");
  set("CONFIGURATION_DIRECTORY", "/etc/brimwatch");
  set("STATE_DIRECTORY", "/var/lib/brimwatch:/var/lib/other");
  set("RUNTIME_DIRECTORY", "/run/brimwatch");
  const Places at = places();
  EXPECT_EQ(at.config, "/etc/brimwatch");
  EXPECT_EQ(at.state, "/var/lib/brimwatch");
  EXPECT_EQ(at.control_socket(), "/run/brimwatch/control.sock");
}

TEST_F(Paths, of_the_system_service_are_those_of_its_unit) {
  // systemd.exec(5), ConfigurationDirectory= and its like: under /etc, /var/lib and /run. scripts/units names
  // "brimwatch".
  set("XDG_CONFIG_HOME", "/elsewhere");
  be_about(Instance::system);
  const Places there = places();
  const std::string file = config_file("");
  be_about(Instance::own);
  EXPECT_EQ(there.config_file(), "/etc/brimwatch/brimwatch.toml");
  EXPECT_EQ(there.journal(), "/var/lib/brimwatch/journal.db");
  EXPECT_EQ(there.control_socket(), "/run/brimwatch/control.sock");
  EXPECT_EQ(file, "/etc/brimwatch/brimwatch.toml");
  EXPECT_EQ(places().config, "/elsewhere/brimwatch");
}

TEST_F(Paths, the_configuration_is_the_users_own_or_else_the_machines) {
  const Folder folder;
  set("XDG_CONFIG_HOME", folder.path("own"));
  set("XDG_CONFIG_DIRS", "relative:" + folder.path("none") + ":" + folder.path("machine"));
  EXPECT_EQ(config_file(""), folder.path("own/brimwatch/brimwatch.toml"));
  ASSERT_TRUE(make_private_directory(folder.path("machine/brimwatch")));
  folder.write("machine/brimwatch/brimwatch.toml", "");
  EXPECT_EQ(config_file(""), folder.path("machine/brimwatch/brimwatch.toml"));
  ASSERT_TRUE(make_private_directory(folder.path("own/brimwatch")));
  folder.write("own/brimwatch/brimwatch.toml", "");
  EXPECT_EQ(config_file(""), folder.path("own/brimwatch/brimwatch.toml"));
  EXPECT_EQ(config_file("/given.toml"), "/given.toml");
}

TEST_F(Paths, folders_are_made_for_their_owner_alone) {
  const Folder folder;
  ASSERT_TRUE(make_private_directory(folder.path("a/b/c")));
  ASSERT_TRUE(make_private_directory(folder.path("a/b/c")));
  struct stat facts {};
  ASSERT_EQ(::stat(folder.path("a/b").c_str(), &facts), 0);
  EXPECT_EQ(facts.st_mode & 0777U, 0700U);
  folder.write("file", "");
  EXPECT_FALSE(make_private_directory(folder.path("file/x")));
}

}  // namespace
}  // namespace brimwatch
