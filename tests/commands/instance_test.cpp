#include "commands/instance.h"

#include <gtest/gtest.h>

namespace brimwatch {
namespace {

constexpr Instance kOwn = Instance::own, kSystem = Instance::system;

TEST(Instance, whoever_speaks_to_a_daemon_gets_the_own_one_first) {
  EXPECT_EQ(instance_for(About::running, {.own_runs = true, .system_runs = true}), kOwn);
  EXPECT_EQ(instance_for(About::running, {.system_runs = true, .own_settings = true}), kSystem);
  EXPECT_EQ(instance_for(About::running, {.own_settings = true, .system_settings = true}), kOwn);
  EXPECT_EQ(instance_for(About::running, {.system_settings = true}), kSystem);
  EXPECT_EQ(instance_for(About::running, {}), kOwn);
}

TEST(Instance, whoever_asks_about_settings_gets_their_own_wherever_they_have_any) {
  EXPECT_EQ(instance_for(About::settings, {.system_runs = true, .own_settings = true, .system_settings = true}), kOwn);
  EXPECT_EQ(instance_for(About::settings, {.own_runs = true, .system_runs = true, .system_settings = true}), kSystem);
  EXPECT_EQ(instance_for(About::settings, {.system_settings = true}), kSystem);
  EXPECT_EQ(instance_for(About::settings, {}), kOwn);
}

TEST(Instance, a_daemon_is_nobody_elses) {
  EXPECT_EQ(instance_for(About::itself, {.system_runs = true, .system_settings = true}), kOwn);
}

}  // namespace
}  // namespace brimwatch
