#include "shared/may_come_twice.h"

#include <string_view>

namespace brimwatch {
namespace {

constexpr std::string_view kMayComeTwice = "another machine may tell this too.";

/// As a line of its own.
void add_mark(std::string& text, const std::string& who) {
  if (text.find(kMayComeTwice) != std::string::npos) return;
  const bool ends_line = text.empty() || text.back() == '\n';
  text.append(ends_line ? "" : "\n").append("          ").append(who).append(kMayComeTwice).append(ends_line ? "\n" : "");
}

}  // namespace

void mark_as_alone(std::string& text, const std::string& member) { add_mark(text, member + " speaks alone; "); }

void mark_as_alone(NoticeRecord& record, const std::string& member) { mark_as_alone(record.text, member); }

void mark_as_heard_alone(NoticeRecord& record, const std::string& member) {
  add_mark(record.text, "Only " + member + " has heard this; ");
}

}  // namespace brimwatch
