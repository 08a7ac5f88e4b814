#include "config/sections/sections.h"

namespace brimwatch {
namespace {

std::vector<KeyInfo> keys_of_a_watch() {
  std::vector<KeyInfo> keys = infos(watch_keys());
  std::vector<KeyInfo> rules = infos(rules_keys());
  for (KeyInfo& rule : rules) rule.fallback = nullptr;  // [rules] has it
  keys.insert(keys.end(), rules.begin(), rules.end());
  return keys;
}

std::vector<SectionInfo> make_sections() {
  return {
      {"", "the top of the file", false, 1, "The main file", infos(top_level_keys())},
      {"session", "[session]", false, 1, "When the exchanges trade", infos(session_keys())},
      {"rules", "[rules]", false, 1, "What holds for every watch that does not say otherwise", infos(rules_keys())},
      {"market", "[market]", false, 1, "The general market", infos(market_keys())},
      {"history", "[history]", false, 1, "What is known of past days", infos(history_keys())},
      {"record", "[record]", false, 1, "Recording of feeds", infos(record_keys())},
      {"keep", "[keep]", false, 1, "How long what is written stays", infos(keep_keys())},
      {"page", "[page]", false, 1, "The status page", infos(page_keys())},
      {"life", "[life]", false, 1, "Signs of life", infos(life_keys())},
      {"evening", "[evening]", false, 1, "The day's review", infos(evening_keys())},
      {"shared", "[shared]", false, 1, "Several machines, one voice", infos(shared_keys())},
      {"prepare", "[prepare]", false, 1, "Rules of thumb of `brimwatch prepare`", infos(prepare_keys())},
      {"log", "[log]", false, 1, "The log", infos(log_keys())},
      {"feed", "[feed]", true, kFeedsMost, "A quote feed", infos(feed_keys())},
      {"channel", "[[channel]]", true, kChannelsMost, "A channel for notices", infos(channel_keys())},
      {"watch", "[[watch]]", true, kWatchesMost, "One symbol with one pivot", keys_of_a_watch()},
  };
}

}  // namespace

const std::vector<SectionInfo>& all_sections() {
  static const std::vector<SectionInfo> kSections = make_sections();
  return kSections;
}

}  // namespace brimwatch
