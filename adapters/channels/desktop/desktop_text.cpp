#include "adapters/channels/desktop/desktop_text.h"

#include <algorithm>

#include "adapters/channels/matter.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

bool is_heavy_crossing(const Notice& notice) {
  const bool past_the_range = notice.range_top.is_set() && notice.price > notice.range_top;
  return notice.kind == NoticeKind::crossed && notice.volume.weight == Weight::heavy && !past_the_range;
}

/// Critical stays on the screen until it is closed: only for what can be acted on at this minute.
Urgency urgency_of(const Notice& notice) {
  if (is_heavy_crossing(notice) || notice.kind == NoticeKind::loss_limit) return Urgency::critical;
  if (notice.kind == NoticeKind::feed_back || notice.kind == NoticeKind::day_end) return Urgency::low;
  return Urgency::normal;
}

/// Names of the Sound Naming Specification; a server that has no sounds takes no notice of them.
std::string_view sound_of(const Notice& notice) {
  if (is_heavy_crossing(notice)) return "message-new-instant";
  if (notice.kind == NoticeKind::loss_limit) return "dialog-warning";
  if (notice.kind == NoticeKind::feed_silent) return "network-connectivity-lost";
  const bool is_quiet = urgency_of(notice) == Urgency::low || notice.volume.weight == Weight::light;
  return is_quiet ? "" : "dialog-information";
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

constexpr std::size_t kDigestLines = 5;

void put_digest(Body& body, const std::vector<NoticeRecord>& notices) {
  const std::size_t shown = notices.size() > kDigestLines ? kDigestLines - 1 : notices.size();
  for (std::size_t i = 0; i < shown; ++i) body.line(notices[i].title);
  if (shown < notices.size()) body.line("and " + std::to_string(notices.size() - shown) + " more: brimwatch journal");
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

std::string sound_of(const Message& message) {
  std::string_view loudest;
  Urgency most = Urgency::low;
  for (const NoticeRecord& record : message.notices) {
    const std::string_view sound = sound_of(record.notice);
    if (sound.empty() || (!loudest.empty() && urgency_of(record.notice) <= most)) continue;
    loudest = sound, most = urgency_of(record.notice);
  }
  return std::string(message.notices.empty() ? "dialog-information" : loudest);
}

Urgency urgency_of(const Message& message) {
  Urgency most = Urgency::low;
  for (const NoticeRecord& record : message.notices) most = std::max(most, urgency_of(record.notice));
  return message.notices.empty() ? Urgency::normal : most;
}

DesktopNote desktop_note(const Message& message, const ServerTraits& server) {
  DesktopNote note;
  const bool is_one = message.notices.size() == 1;
  const Glance said = is_one ? glance(message.notices.front()) : Glance{message.title, {}, {}};
  note.summary = clean_line(said.what, kTitleMost);
  note.urgency = urgency_of(message);
  note.sound = sound_of(message);
  note.thread = matter_of(message);
  if (!server.body) {
    note.summary = clean_line(message.title, kTitleMost);  // the title has the judgement too
    return note;
  }
  Body body(server.markup);
  body.line(around(message), true);
  if (is_one) {
    body.line(said.where, true);
    body.line(said.how_sure);
  } else {
    put_digest(body, message.notices);
  }
  note.body = std::move(body).text();
  return note;
}

}  // namespace brimwatch
