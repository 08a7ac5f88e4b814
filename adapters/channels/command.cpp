// The command: any program of the user's, started once a message, without a shell. Its standard input holds the notice as
// one JSON object (a digest: one object a line); its exit code says what became of it:
//   0    delivered
//   75   try again later (EX_TEMPFAIL of sysexits.h); so does a program that cannot be started
//   else for good not delivered; so does a signal
// One that takes too long is killed with its process group; whether it did its work is then unknown.
// The first line on its standard error is kept as its reply.
#include <string>
#include <vector>

#include "adapters/channels/child.h"
#include "adapters/channels/makers.h"
#include "adapters/process/child_environment.h"
#include "core/text/notice_json.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr int kTryAgain = 75;

std::vector<std::string> environment_of(const Message& message, const std::vector<std::string>& also) {
  std::vector<std::string> all = child_environment(also);
  const auto add = [&](const char* name, std::string_view value) {
    all.push_back(std::string("BRIMWATCH_") + name + "=" + clean_line(value, 300));
  };
  add("ID", message.id);
  add("TITLE", message.title);
  add("ATTEMPT", std::to_string(message.attempt));
  add("NOTICES", std::to_string(message.notices.size()));
  if (message.late) add("LATE_SECONDS", std::to_string(message.late->count()));
  if (message.notices.size() != 1) return all;
  // What `journal ack` takes: ID is the message's, another one at each repetition.
  add("NOTICE", message.notices.front().id);
  add("SYMBOL", message.notices.front().symbol);
  add("KIND", to_string(message.notices.front().notice.kind));
  return all;
}

class Command final : public Channel {
 public:
  explicit Command(const ChannelSettings& settings) : settings_(settings) {}

  Delivery send(const Message& message) override {
    ChildJob job{settings_.command, environment_of(message, settings_.environment), {}, settings_.timeout};
    for (const NoticeRecord& record : message.notices) job.input += to_json(record) + "\n";
    const Result<ChildEnd> end = run_child(job);
    if (!end) return {Outcome::retry, end.error().text, std::nullopt};
    return delivery_of(*end);
  }

 private:
  [[nodiscard]] Delivery delivery_of(const ChildEnd& end) const {
    const std::string said = end.error_line.empty() ? std::string() : ": " + end.error_line;
    if (end.timed_out) {
      return {Outcome::unknown, "killed after " + std::to_string(settings_.timeout.count()) + " s" + said, std::nullopt};
    }
    if (end.exit_code == 0) return {Outcome::delivered, "exit 0" + said, std::nullopt};
    const Outcome outcome = end.exit_code == kTryAgain ? Outcome::retry : Outcome::dead;
    if (end.exit_code > 0) return {outcome, "exit " + std::to_string(end.exit_code) + said, std::nullopt};
    return {Outcome::dead, "ended by signal " + std::to_string(end.signal) + said, std::nullopt};
  }

  ChannelSettings settings_;
};

}  // namespace

Result<std::unique_ptr<Channel>> make_command(const ChannelSettings& settings, const ChannelContext&) {
  if (settings.command.empty() || settings.command.front().empty()) {
    return fail("command: found none, expected the program and its arguments, e.g. [\"/usr/local/bin/tell\", \"me\"]");
  }
  return std::make_unique<Command>(settings);
}

}  // namespace brimwatch
