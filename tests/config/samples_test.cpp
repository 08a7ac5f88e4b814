// The samples that the program hands out are read by its own loader, with every line that is commented out put in force,
// and leave no key unnamed.
#include <gmock/gmock.h>

#include <set>
#include <sstream>

#include "config/embedded.h"
#include "config/sections/schema.h"
#include "config/sections/sections.h"
#include "folder.h"
#include "support/whole_file.h"

namespace brimwatch {
namespace {

using testing::IsEmpty;

const std::string kSource = BRIMWATCH_SOURCE_DIR;

std::string sample(std::string_view name) {
  for (const EmbeddedFile& file : embedded_samples()) {
    if (file.name == name) return std::string(file.text);
  }
  ADD_FAILURE() << "no sample " << name;
  return {};
}

/// Settings that are commented out ("#key = ...", "#[section]") put in force; explanations ("# ...") left as they are.
std::string in_force(const std::string& text) {
  std::istringstream lines(text);
  std::string out;
  for (std::string line; std::getline(lines, line);) {
    const bool setting = line.size() > 1 && line[0] == '#' && line[1] != ' ' && line[1] != ':' && line[1] != '#';
    out += (setting ? line.substr(1) : line) + "\n";
  }
  return out;
}

Loaded load(const Folder& folder, const std::string& text) {
  folder.write("weekend.toml", in_force(sample("weekend.toml")));
  folder.write("more.csv", sample("more.csv"));
  return load_settings(folder.write("brimwatch.toml", text), {{"XNYS"}});
}

TEST(Samples, are_right_as_they_are) {
  const Folder folder;
  const Loaded loaded = load(folder, sample("brimwatch.toml"));
  EXPECT_THAT(folder.lines(loaded.problems), IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings), IsEmpty());
  EXPECT_EQ(loaded.settings.watches.size(), 5U);
  EXPECT_EQ(loaded.settings.feeds.size(), 1U);
  EXPECT_EQ(loaded.settings.channels.size(), 2U);
}

TEST(Samples, are_right_with_every_setting_in_force) {
  const Folder folder;
  const Loaded loaded = load(folder, in_force(sample("brimwatch.toml")));
  EXPECT_THAT(folder.lines(loaded.problems), IsEmpty());
  EXPECT_EQ(loaded.settings.feeds.size(), 5U);
  EXPECT_EQ(loaded.settings.channels.size(), 9U);
}

TEST(Samples, show_defaults_that_are_the_real_ones) {
  const Folder folder;
  const Loaded plain = load_settings(folder.write("empty.toml", ""));
  const Loaded loaded = load(folder, in_force(sample("brimwatch.toml")));
  EXPECT_EQ(loaded.settings.rules, plain.settings.rules);
  EXPECT_EQ(loaded.settings.record.bytes_most, plain.settings.record.bytes_most);
  EXPECT_EQ(loaded.settings.life.heartbeat_every, plain.settings.life.heartbeat_every);
  EXPECT_EQ(loaded.settings.prepare, plain.settings.prepare);
  EXPECT_EQ(loaded.settings.evening.odds_days, plain.settings.evening.odds_days);
  EXPECT_EQ(loaded.settings.log_level, plain.settings.log_level);
  const FeedSettings feed;
  EXPECT_EQ(loaded.settings.feeds.at(0).silent_after, feed.silent_after);
  EXPECT_EQ(loaded.settings.feeds.at(1).frame_bytes_most, feed.frame_bytes_most);
  EXPECT_EQ(loaded.settings.feeds.at(1).batch, feed.batch);
  EXPECT_EQ(loaded.settings.feeds.at(1).keep_alive, feed.keep_alive);
  EXPECT_EQ(loaded.settings.feeds.at(2).interval, feed.interval);
  const ChannelSettings channel;
  EXPECT_EQ(loaded.settings.channels.at(1).per_minute, channel.per_minute);
  EXPECT_EQ(loaded.settings.channels.at(1).expire_urgent, channel.expire_urgent);
}

void collect(const std::vector<KeyInfo>& keys, std::set<std::string>& into) {
  for (const KeyInfo& key : keys) {
    into.insert(std::string(key.name));
    if (key.shape.nested != nullptr) collect(key.shape.nested(), into);
  }
}

/// The key stands there as one: "key =", "[key]", "[feed.key]", "symbol,key,".
bool names(const std::string& text, const std::string& key) {
  for (std::size_t at = text.find(key); at != std::string::npos; at = text.find(key, at + 1)) {
    const char before = at == 0 ? '\n' : text[at - 1];
    const char after = at + key.size() < text.size() ? text[at + key.size()] : '\n';
    if (std::string("\n{, .[").find(before) != std::string::npos &&
        std::string(" =,.]\n").find(after) != std::string::npos)
      return true;
  }
  return false;
}

TEST(Samples, name_every_key_there_is) {
  std::set<std::string> known;
  for (const SectionInfo& section : all_sections()) collect(section.keys, known);
  const std::string text = in_force(sample("brimwatch.toml")) + in_force(sample("weekend.toml")) + sample("more.csv");
  std::vector<std::string> missing;
  for (const std::string& key : known) {
    if (!names(text, key)) missing.push_back(key);
  }
  EXPECT_THAT(missing, IsEmpty());
}

TEST(Samples, are_those_of_the_source) {
  for (const EmbeddedFile& file : embedded_samples()) {
    const std::string folder = file.name.ends_with(".service") ? "/scripts/units/" : "/config/samples/";
    EXPECT_EQ(file.text, test::whole_file(kSource + folder + std::string(file.name))) << file.name;
  }
}

TEST(Schema, in_the_source_is_the_one_of_the_tables) {
  const std::string path = kSource + "/config/brimwatch.schema.json";
  if (std::getenv("BRIMWATCH_UPDATE") != nullptr) std::ofstream(path, std::ios::binary) << json_schema();
  EXPECT_EQ(test::whole_file(path), json_schema())
      << "run this test once with BRIMWATCH_UPDATE=1 and look at what changed";
}

TEST(Schema, every_key_says_what_it_is_for) {
  for (const SectionInfo& section : all_sections()) {
    for (const KeyInfo& key : section.keys) {
      EXPECT_GT(key.what.size(), 5U) << key.name;
      EXPECT_NE(key.what.back(), '.') << key.name;
    }
  }
}

}  // namespace
}  // namespace brimwatch
