#include "commands/shared_lists.h"

#include "adapters/etcd/etcd_log.h"
#include "shared/keys.h"
#include "shared/watch_names.h"

namespace brimwatch {

std::vector<std::string> differences_of_lists(const Settings& settings) {
  const SharedKeys keys(settings.shared.house);
  const std::string own = watch_names_text(settings.watches);
  LogRequest request;
  request.patience = 2 * kSecond;
  request.ranges.push_back({keys.list(""), SharedKeys::past(keys.list(""))});
  const EtcdWorld world{{}, [](const SecretSource& source) { return read_secret(source); }};
  const LogAnswer answer = ask_etcd(settings.shared, world, request);
  if (!answer.is_done() || answer.pages.empty())
    return {"[shared]: the other machines' lists are not known: etcd " + answer.words};
  std::vector<std::string> lines;
  for (const LogEntry& entry : answer.pages[0].entries) {
    const std::string name = entry.key.substr(keys.list("").size());
    const std::string differs = list_difference(settings.shared.name, own, name, entry.value);
    if (differs.empty()) continue;
    lines.push_back(
        "[shared]: " +
        (name == settings.shared.name ? "the running daemon here has another list" : name + " has another list") + "; " +
        differs);
  }
  return lines;
}

}  // namespace brimwatch
