#include "shared/shared_row.h"

#include <utility>

namespace brimwatch {
namespace {

SharedMemberRow row_of(const Voice& voice, const std::string& name, const SharedMember& member) {
  SharedMemberRow one{.name = name, .version = member.version, .feed = member.feed, .trouble = member.trouble};
  one.well = member.well, one.watches = member.watches, one.direct = member.direct;
  const auto& members = voice.view().members();
  const auto own = members.find(voice.settings().name);
  one.same_list = own == members.end() || own->second.list == member.list;
  one.same_rules = own == members.end() || member.rules.empty() || own->second.rules == member.rules;
  const auto heard = voice.direct().heard().find(name);
  if (heard != voice.direct().heard().end()) one.answered = heard->second.role;
  const auto off = voice.clocks_off().find(name);
  if (off != voice.clocks_off().end()) one.clock_off = static_cast<double>(off->second) / 1e9;
  return one;
}

}  // namespace

SharedRow row_of(const Voice& voice) {
  SharedRow row;
  row.on = true, row.name = voice.settings().name, row.house = voice.settings().house;
  row.role = to_string(voice.role()), row.since = voice.since(), row.trouble = voice.trouble();
  row.silent_seconds = static_cast<double>(voice.unreached()) / 1e9;
  if (const auto& speaker = voice.view().speaker()) row.speaker = speaker->name, row.speaks_since = speaker->since;
  for (const auto& [name, member] : voice.view().members()) {
    row.members.push_back(row_of(voice, name, member));
    row.members.back().speaks = name == row.speaker;
  }
  return row;
}

}  // namespace brimwatch
