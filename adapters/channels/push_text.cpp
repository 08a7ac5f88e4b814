#include "adapters/channels/push_text.h"

#include <algorithm>
#include <vector>

#include "adapters/channels/crypto.h"
#include "adapters/channels/matter.h"
#include "adapters/push/base64url.h"
#include "adapters/push/sealed.h"
#include "core/text/json.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr std::size_t kLinesMost = 3, kPushLineMost = 160;
constexpr std::chrono::seconds kLeastToLive{30};
constexpr std::chrono::hours kADay{24};
constexpr std::size_t kTopicBytes = 24;  ///< 32 characters, the most of RFC 8030

/// The state of things first, then what it means: the event itself is in the title.
std::vector<std::string> lines_of_one(const NoticeRecord& record) {
  const Spoken words = spoken(record);
  std::vector<std::string> lines = words.state;
  lines.insert(lines.end(), words.meaning.begin(), words.meaning.end());
  if (!words.note.empty()) lines.push_back("note: " + words.note);
  if (lines.empty()) lines.push_back(words.event);
  return lines;
}

std::vector<std::string> lines_of(const Message& message) {
  std::vector<std::string> lines;
  if (message.notices.size() == 1) lines = lines_of_one(message.notices.front());
  for (const NoticeRecord& record : message.notices)
    if (message.notices.size() > 1) lines.push_back(record.title);
  if (message.notices.empty()) lines.push_back(message.text);
  if (message.late) lines.insert(lines.begin(), "Late: " + std::to_string(message.late->count()) + " s after the event");
  const std::size_t more = lines.size() > kLinesMost ? lines.size() - kLinesMost : 0;
  lines.resize(lines.size() - more);
  for (std::string& line : lines) line = clean_line(line, kPushLineMost);
  if (more > 0 && message.notices.size() > 1) lines.back() += ", and " + std::to_string(more) + " more";
  return lines;
}

/// How long a notice is worth showing on a device that was not to be reached.
std::chrono::seconds life_left(const Notice& notice, std::chrono::seconds expire_urgent, std::chrono::sys_seconds now) {
  if (!is_urgent(notice.kind)) return kADay;
  const auto age = now.time_since_epoch() - std::chrono::seconds(notice.time.ns / kSecond);
  return std::clamp<std::chrono::seconds>(expire_urgent - age, kLeastToLive, kADay);
}

bool has_urgent(const Message& message) {
  return std::any_of(message.notices.begin(), message.notices.end(),
                     [](const NoticeRecord& record) { return is_urgent(record.notice.kind); });
}

}  // namespace

std::string push_text(const Message& message) {
  OrderedJson json{{"title", clean_line(message.title, kTitleMost + 20)},
                   {"lines", lines_of(message)},
                   {"id", clean_line(message.id, 200)}};
  if (!message.notices.empty()) {
    const NoticeRecord& first = message.notices.front();
    json["urgent"] = has_urgent(message);
    json["time"] = to_rfc3339(first.notice.time, first.offset);
    if (message.notices.size() == 1) {
      json["symbol"] = clean_line(first.symbol, 40);
      json["kind"] = to_string(first.notice.kind);
      if (first.notice.pivot.is_set()) json["pivot"] = to_string(first.notice.pivot);
    }
  }
  std::string text = json_text(json);
  if (text.size() <= kSealedMost) return text;
  json["lines"] = {"The message is too long to be shown here; the page has it."};  // three lines of four-byte letters
  return json_text(json);
}

PushTerms push_terms(const Message& message, std::chrono::seconds expire_urgent, std::chrono::sys_seconds now,
                     std::string_view key) {
  PushTerms terms{has_urgent(message), message.notices.empty() ? kADay : kLeastToLive, {}};
  for (const NoticeRecord& record : message.notices)
    terms.time_to_live = std::max(terms.time_to_live, life_left(record.notice, expire_urgent, now));
  terms.topic = base64url(hmac_sha256(key, matter_of(message)).substr(0, kTopicBytes));
  return terms;
}

}  // namespace brimwatch
