// What the manual and the schema say a key is when nobody sets it, against what the loader makes of a file without it:
// a file that states every default must come to the same settings as one that states none.
#include <gtest/gtest.h>

#include "config/sections/sections.h"
#include "folder.h"

namespace brimwatch {
namespace {

/// "level = "info"\n" for each key that has a default and is for `kind`; tables below as "checks.spike = ...".
std::string stated(const std::vector<KeyInfo>& keys, std::string_view kind, const std::string& above = {}) {
  std::string out;
  for (const KeyInfo& key : keys) {
    const bool other = !key.only_for.empty() && key.only_for.find(kind) == std::string_view::npos;
    const std::string value = default_of(key);
    if (!other && !value.empty()) out += above + std::string(key.name) + " = " + value + "\n";
  }
  return out;
}

const std::vector<KeyInfo>& keys_of(std::string_view name) {
  for (const SectionInfo& section : all_sections())
    if (section.name == name) return section.keys;
  ADD_FAILURE() << name;
  static const std::vector<KeyInfo> kNone;
  return kNone;
}

std::vector<KeyInfo> nested_keys(std::string_view section, std::string_view name) {
  for (const KeyInfo& key : keys_of(section))
    if (key.name == name) return key.shape.nested();
  ADD_FAILURE() << section << "." << name;
  return {};
}

Settings settings_of(const Folder& folder, const std::string& text) {
  const Loaded loaded = load_settings(folder.write("brimwatch.toml", text));
  EXPECT_TRUE(loaded.ok()) << to_string(loaded.problems.front()) << "\n" << text;
  return loaded.settings;
}

void expect_same(const Settings& one, const Settings& other) {
  EXPECT_EQ(one.session, other.session);
  EXPECT_EQ(one.rules, other.rules);
  EXPECT_EQ(one.market, other.market);
  EXPECT_EQ(one.history, other.history);
  EXPECT_EQ(one.record, other.record);
  EXPECT_EQ(one.page, other.page);
  EXPECT_EQ(one.life, other.life);
  EXPECT_EQ(one.evening, other.evening);
  EXPECT_EQ(one.prepare, other.prepare);
  EXPECT_EQ(one.log_level, other.log_level);
  EXPECT_EQ(one.log_format, other.log_format);
  EXPECT_EQ(one.journal, other.journal);
  EXPECT_EQ(one.shared, other.shared);
  EXPECT_EQ(one.feeds, other.feeds);
  EXPECT_EQ(one.channels, other.channels);
  EXPECT_EQ(one.watches, other.watches);
}

constexpr std::string_view kNeedsOthers =
    "shared feed channel watch";  // tables that are nothing without a key that must be

TEST(Defaults, of_every_section_are_what_a_file_without_them_comes_to) {
  const Folder folder;
  std::string all = stated(keys_of(""), "");
  int sections = 0;
  for (const SectionInfo& section : all_sections()) {
    if (section.name.empty() || kNeedsOthers.find(section.name) != std::string_view::npos) continue;
    all += "[" + section.name + "]\n" + stated(section.keys, "");
    if (section.name == "history") all += stated(section.keys.back().shape.nested(), "", "checks.");
    ++sections;
  }
  EXPECT_GE(sections, 10);
  expect_same(settings_of(folder, all), settings_of(folder, ""));
}

TEST(Defaults, of_several_machines) {
  const Folder folder;
  const std::string needed = "[shared]\nname = \"a\"\nhouse = \"h\"\netcd = [\"https://10.0.0.1:2379\"]\n";
  expect_same(settings_of(folder, needed + stated(keys_of("shared"), "")), settings_of(folder, needed));
}

TEST(Defaults, of_a_source_of_daily_bars) {
  const Folder folder;
  for (const std::string name : {"source", "splits_source", "earnings_source"}) {
    const std::string needed = "[history." + name + "]\nurl = \"https://bars.example.org/{symbol}\"\n";
    expect_same(settings_of(folder, needed + stated(nested_keys("history", name), "")), settings_of(folder, needed));
  }
}

TEST(Defaults, of_a_feed_of_each_kind) {
  const Folder folder;
  const std::string web = "fields = { symbol = \"/s\", price = \"/p\" }\nurl = ";
  const std::pair<std::string, std::string> kinds[] = {{"tape", "file = \"a.csv\"\n"},
                                                       {"pipe", "fields = { symbol = \"/s\", price = \"/p\" }\n"},
                                                       {"stream", web + "\"wss://quotes.example.org/\"\n"},
                                                       {"poll", web + "\"https://quotes.example.org/\"\n"},
                                                       {"events", web + "\"https://quotes.example.org/\"\n"}};
  for (const auto& [kind, more] : kinds) {
    const std::string needed = "[feed]\nkind = \"" + kind + "\"\n" + more;
    expect_same(settings_of(folder, needed + stated(keys_of("feed"), kind)), settings_of(folder, needed));
  }
}

TEST(Defaults, of_a_channel_of_each_kind) {
  const Folder folder;
  const std::pair<std::string, std::string> kinds[] = {
      {"console", ""},
      {"desktop", ""},
      {"email", "url = \"smtps://mail.example.org:465\"\nfrom = \"me@example.org\"\nto = [\"me@example.org\"]\n"},
      {"webhook", "url = \"https://hooks.example.org/\"\nbody = \"{title}\"\n"},
      {"command", "command = [\"/bin/true\"]\n"},
      {"push", "contact = \"mailto:me@example.org\"\n"},
      {"mqtt", "url = \"mqtts://broker.example.org\"\ntopic = \"brimwatch/{symbol}\"\n"}};
  for (const auto& [kind, more] : kinds) {
    const std::string needed = "[[channel]]\nkind = \"" + kind + "\"\n" + more;
    expect_same(settings_of(folder, needed + stated(keys_of("channel"), kind)), settings_of(folder, needed));
  }
  const std::string quiet = "[[channel]]\nkind = \"console\"\nquiet.from = \"22:00\"\nquiet.to = \"07:30\"\n";
  expect_same(settings_of(folder, quiet + stated(nested_keys("channel", "quiet"), "", "quiet.")),
              settings_of(folder, quiet));
}

/// So that the comparison above cannot pass by seeing nothing: each whole number and each flag that is set to something
/// else than its default is a different configuration.
TEST(Defaults, another_value_than_the_default_is_seen) {
  const Folder folder;
  int seen = 0;
  for (const SectionInfo& section : all_sections()) {
    if (section.name.empty() || kNeedsOthers.find(section.name) != std::string_view::npos) continue;
    for (const KeyInfo& key : section.keys) {
      std::string other = default_of(key);
      if (key.shape.kind == Shape::Kind::boolean) other = other == "true" ? "false" : "true";
      else if (key.shape.kind == Shape::Kind::count)
        other = std::to_string(std::stoll(other) == key.shape.most ? key.shape.least : std::stoll(other) + 1);
      else continue;
      const Loaded loaded = load_settings(
          folder.write("brimwatch.toml", "[" + section.name + "]\n" + std::string(key.name) + " = " + other + "\n"));
      if (!loaded.ok()) continue;  // a page without a certificate and the like
      const Settings& a = loaded.settings;
      const Settings b;
      const bool same = a.session == b.session && a.rules == b.rules && a.history == b.history && a.record == b.record &&
                        a.page == b.page && a.life == b.life && a.evening == b.evening && a.prepare == b.prepare;
      EXPECT_FALSE(same) << section.name << "." << key.name << " = " << other;
      ++seen;
    }
  }
  EXPECT_GE(seen, 30);
}

/// As DEVELOPERS.md asks of a new key: its default is stated, or its sentence says what holds without it.
TEST(Defaults, a_key_without_one_is_a_text_a_list_a_table_or_must_be_set) {
  using Kind = Shape::Kind;
  int with = 0;
  for (const SectionInfo& section : all_sections()) {
    for (const KeyInfo& key : section.keys) {
      if (!default_of(key).empty()) ++with;
      if (!default_of(key).empty() || section.name == "watch") continue;
      const bool must_have = key.shape.kind == Kind::boolean || key.shape.kind == Kind::count ||
                             key.shape.kind == Kind::percent || key.shape.kind == Kind::fraction ||
                             key.shape.kind == Kind::seconds || key.shape.kind == Kind::money;
      EXPECT_FALSE(must_have) << section.name << "." << key.name;
    }
  }
  EXPECT_GE(with, 140);
}

}  // namespace
}  // namespace brimwatch
