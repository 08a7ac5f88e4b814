#include "adapters/channels/desktop_text.h"

#include <algorithm>

#include "core/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

Urgency urgency_of(const Notice& notice) {
  switch (notice.kind) {
    case NoticeKind::crossed:
      return notice.volume.weight == Weight::light ? Urgency::normal : Urgency::critical;
    case NoticeKind::volume_arrived:
    case NoticeKind::loss_limit:
    case NoticeKind::corrected:
    case NoticeKind::feed_silent:
      return Urgency::critical;
    case NoticeKind::opened_over:
    case NoticeKind::volume_faded:
    case NoticeKind::left_range:
    case NoticeKind::back_inside:
    case NoticeKind::fell_under:
    case NoticeKind::halted:
    case NoticeKind::resumed:
    case NoticeKind::feed_late:
    case NoticeKind::self_check:
    case NoticeKind::gain:
      return Urgency::normal;
    case NoticeKind::feed_back:
    case NoticeKind::day_end:
      return Urgency::low;
  }
  return Urgency::normal;
}

/// Lines of the body, marked up or plain as the server wants them.
class Body {
 public:
  explicit Body(bool markup) : markup_(markup) {}
  void line(std::string_view text, bool strong = false) {
    const std::string clean = clean_line(text, 400);
    if (clean.empty() || text_.size() > kMost) return;
    if (!text_.empty()) text_ += '\n';
    text_ += markup_ && strong ? "<b>" + escaped(clean) + "</b>" : escaped(clean);
  }
  [[nodiscard]] std::string text() && { return std::move(text_); }

 private:
  static constexpr std::size_t kMost = 2000;
  [[nodiscard]] std::string escaped(const std::string& text) const {
    if (!markup_) return text;
    std::string out;
    for (const char c : text) {
      if (c == '&') out += "&amp;";
      else if (c == '<') out += "&lt;";
      else if (c == '>') out += "&gt;";
      else out += c;
    }
    return out;
  }

  bool markup_;
  std::string text_;
};

void put_notice(Body& body, const NoticeRecord& record) {
  const Spoken words = spoken(record);
  body.line(to_clock(record.notice.time, record.offset) + " " + words.event, true);
  for (const std::string& line : words.state) body.line(line);
  for (const std::string& line : words.meaning) body.line(line);
  if (!words.note.empty()) body.line("note: " + words.note);
}

/// What the dispatcher says beside the notice itself: that it goes out late.
std::string around(const Message& message) {
  if (message.notices.size() != 1) return {};
  const std::string& own = message.notices.front().text;
  const std::size_t at = message.text.find(own);
  if (at == std::string::npos) return message.text;
  return message.text.substr(0, at) + " " + message.text.substr(at + own.size());
}

}  // namespace

Urgency urgency_of(const Message& message) {
  Urgency most = Urgency::low;
  for (const NoticeRecord& record : message.notices) most = std::max(most, urgency_of(record.notice));
  return message.notices.empty() ? Urgency::normal : most;
}

DesktopNote desktop_note(const Message& message, const ServerTraits& server) {
  DesktopNote note;
  note.summary = clean_line(message.title, kTitleMost);
  note.urgency = urgency_of(message);
  note.thread = message.notices.size() == 1 ? "of " + message.notices.front().symbol : "digest";
  if (!server.body) return note;
  Body body(server.markup);
  body.line(around(message), true);
  if (message.notices.size() == 1) {
    put_notice(body, message.notices.front());
  } else {
    for (const NoticeRecord& record : message.notices) body.line(record.title);
  }
  note.body = std::move(body).text();
  return note;
}

}  // namespace brimwatch
