
#include "core/text/json.h"
#include "core/text/text.h"
#include "desk/silence.h"

namespace brimwatch {
namespace {

constexpr std::size_t kWidth = 80;
constexpr std::size_t kTextAt = 14;  ///< column at which a cause's words begin

std::string cause_text(const SilenceCause& cause, std::chrono::seconds offset) {
  std::string when = cause.at.is_set() ? to_clock(cause.at, offset) : "-";
  when.resize(kTextAt - 2, ' ');
  std::string out = wrap("  " + when + cause.what, kWidth, kTextAt) + "\n";
  if (!cause.to_do.empty()) out += wrap(std::string(kTextAt, ' ') + "To do: " + cause.to_do, kWidth, kTextAt) + "\n";
  return out;
}

/// What the answer rests on: without it one would take silence for calm.
std::string sources(const SilenceFacts& facts) {
  std::string out = facts.journal.empty() ? "no journal" : "the journal " + facts.journal;
  if (facts.tape.files.empty())
    return out + "; no tape of that day" + (facts.tape.trouble.empty() ? "" : ": " + facts.tape.trouble);
  for (const std::string& file : facts.tape.files) out += ", " + file;
  return out + (facts.tape.trouble.empty() ? "" : "; " + facts.tape.trouble);
}

OrderedJson time_json(Timestamp at, std::chrono::seconds offset) {
  if (!at.is_set()) return nullptr;
  return to_rfc3339(at, offset);
}

}  // namespace

std::string silence_text(const Silence& silence, const SilenceFacts& facts) {
  std::string out = wrap(silence.summary + ".", kWidth, 2) + "\n";
  for (const SilenceCause& cause : silence.causes) out += cause_text(cause, facts.offset);
  if (silence.causes.empty()) out += "  Nothing kept it from telling.\n";
  return out + wrap("  From " + sources(facts) + ".", kWidth, 2) + "\n";
}

std::string silence_json(const Silence& silence, const SilenceFacts& facts) {
  OrderedJson out{{"symbol", facts.watch.symbol}, {"pivot", facts.watch.pivot.as_double()},
                  {"day", to_string(facts.day)},  {"verdict", silence.verdict},
                  {"summary", silence.summary},   {"causes", OrderedJson::array()}};
  for (const SilenceCause& cause : silence.causes) {
    OrderedJson one{{"cause", cause.word},
                    {"at", time_json(cause.at, facts.offset)},
                    {"to", time_json(cause.to, facts.offset)},
                    {"what", cause.what},
                    {"to_do", cause.to_do},
                    {"numbers", OrderedJson::object()}};
    for (const auto& [name, value] : cause.numbers) one["numbers"][std::string(name)] = value;
    out["causes"].push_back(std::move(one));
  }
  out["journal"] = facts.journal.empty() ? OrderedJson(nullptr) : OrderedJson(facts.journal);
  out["tapes"] = facts.tape.files;
  return json_line(out);
}

}  // namespace brimwatch
