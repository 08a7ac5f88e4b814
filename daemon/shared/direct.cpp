#include "shared/direct.h"

#include <algorithm>

#include "core/text/json.h"
#include "core/text/text.h"

namespace brimwatch {

std::string to_value(const DirectAnswer& answer) {
  const Json all{{"v", 1}, {"house", answer.house}, {"name", answer.name}, {"role", answer.role}, {"well", answer.well}};
  return json_text(all);
}

Result<DirectAnswer> direct_answer_from(std::string_view value) {
  const Json all = Json::parse(value, nullptr, false);
  const auto text = [&all](const char* key) {
    const auto found = all.find(key);
    return found != all.end() && found->is_string() ? clean_line(found->get<std::string>(), 32) : std::string();
  };
  if (!all.is_object()) return fail("a direct answer: found no JSON object");
  DirectAnswer answer{text("house"), text("name"), text("role")};
  if (answer.house.empty() || answer.name.empty() || answer.role.empty())
    return fail("a direct answer: expected house, name and role, as texts");
  if (const auto well = all.find("well"); well != all.end() && well->is_boolean()) answer.well = well->get<bool>();
  return answer;
}

void DirectQuestions::know(const std::map<std::string, SharedMember>& members) {
  for (const auto& [name, member] : members) {
    if (name == name_) continue;
    if (member.direct.empty()) addresses_.erase(name), heard_.erase(name);
    else addresses_[name] = member.direct;
  }
}

void DirectQuestions::look(Nanos now) {
  if (!ask_ || now - asked_ < kEvery) return;
  asked_ = now;
  for (const auto& [name, address] : addresses_)
    ask_(address, [this, alive = std::weak_ptr<int>(alive_), name = name, now](const std::string& said) {
      if (!alive.expired()) on_said(name, now, said);
    });
}

void DirectQuestions::on_said(const std::string& name, Nanos asked, std::string_view said) {
  Heard& heard = heard_[name];
  heard.asked = std::max(heard.asked, asked);
  const auto answer = direct_answer_from(said);
  if (!answer || answer->house != house_ || answer->name != name || asked < heard.said) return;
  heard.said = asked, heard.role = answer->well ? answer->role : "not well";
}

std::string DirectQuestions::speaker_since(Nanos since, bool in_log) const {
  for (const auto& [name, heard] : heard_) {
    const bool speaks = heard.role == "speaking" || (!in_log && heard.role == "alone");
    if (speaks && heard.said >= since) return name;
  }
  return {};
}

Nanos DirectQuestions::last_spoken() const {
  Nanos newest = -kDayNanos;
  for (const auto& [name, heard] : heard_)
    if (heard.role == "speaking" || heard.role == "alone") newest = std::max(newest, heard.said);
  return newest;
}

int DirectQuestions::names_before(const std::string& name, const std::string& but) const {
  return static_cast<int>(std::count_if(addresses_.begin(), addresses_.end(),
                                        [&](const auto& one) { return one.first < name && one.first != but; }));
}

bool DirectQuestions::has_asked_since(Nanos since) const {
  if (!ask_) return true;
  return std::all_of(addresses_.begin(), addresses_.end(), [&](const auto& one) {
    const auto heard = heard_.find(one.first);
    return heard != heard_.end() && heard->second.asked >= since;
  });
}

}  // namespace brimwatch
