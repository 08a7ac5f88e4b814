#include "commands/shared_lists.h"

#include <map>

#include "adapters/etcd/etcd_log.h"
#include "config/deciding_rules.h"
#include "shared/entries/keys.h"
#include "shared/entries/values.h"
#include "shared/entries/watch_names.h"

namespace brimwatch {
namespace {

constexpr const char* kWhatHappens = "; a notice depends on which of them speaks";

using ByName = std::map<std::string, std::string>;

ByName by_name(const LogPage& page, const std::string& start) {
  ByName all;
  for (const LogEntry& entry : page.entries) all[entry.key.substr(start.size())] = entry.value;
  return all;
}

LogRange all_under(const std::string& start) { return {start, SharedKeys::past(start)}; }

/// A member that says nothing of its rules is of a program that did not know how to.
bool is_silent_of_rules(const std::string& member) {
  const auto read = member_from(member, kSharedFormat);
  return read && read->rules.empty();
}

class Comparing {
 public:
  Comparing(const Settings& settings, const SharedKeys& keys, const LogAnswer& answer)
      : own_name_(settings.shared.name),
        own_list_(watch_names_text(settings.watches)),
        own_rules_(deciding_rules_text(settings)),
        lists_(by_name(answer.pages[0], keys.list(""))),
        rules_(by_name(answer.pages[1], keys.rules(""))),
        members_(by_name(answer.pages[2], keys.member(""))) {}

  std::vector<std::string> lines() {
    for (const auto& [name, list] : lists_) {
      const bool is_own = name == own_name_;
      if (const std::string differs = list_difference(own_name_, own_list_, name, list); !differs.empty())
        add((is_own ? "the running daemon here has another list" : name + " has another list") + "; " + differs);
      compare_rules(name, list, is_own);
    }
    return std::move(lines_);
  }

 private:
  void compare_rules(const std::string& name, const std::string& list, bool is_own) {
    const auto rules = rules_.find(name), member = members_.find(name);
    if (rules == rules_.end() || (member != members_.end() && is_silent_of_rules(member->second))) {
      const std::string who = is_own ? "the running daemon here" : name;
      return add(who + " does not say by which rules it tells: an older program runs there; they are not compared");
    }
    const std::string here = is_own ? "in this configuration" : "on " + own_name_;
    const std::string there = is_own ? "in the running daemon" : "on " + name;
    const RuledSide ours{here, own_list_, own_rules_}, theirs{there, list, rules->second};
    for (const std::string& differs : rule_differences(ours, theirs))
      add(differs + (is_own ? "; what runs decides until it is reloaded" : kWhatHappens));
  }
  void add(const std::string& line) { lines_.push_back("[shared]: " + line); }

  std::string own_name_, own_list_, own_rules_;
  ByName lists_, rules_, members_;
  std::vector<std::string> lines_;
};

}  // namespace

std::vector<std::string> differences_of_lists(const Settings& settings) {
  const SharedKeys keys(settings.shared.house);
  LogRequest request;
  request.patience = 2 * kSecond;
  for (const std::string& start : {keys.list(""), keys.rules(""), keys.member("")})
    request.ranges.push_back(all_under(start));
  const EtcdWorld world{{}, [](const SecretSource& source) { return read_secret(source); }};
  const LogAnswer answer = ask_etcd(settings.shared, world, request);
  if (!answer.is_done() || answer.pages.size() < request.ranges.size())
    return {"[shared]: the other machines' lists are not known: etcd " + answer.words};
  return Comparing(settings, keys, answer).lines();
}

}  // namespace brimwatch
