#include "adapters/channels/mail/mail_html.h"

#include <algorithm>

#include "core/caution.h"
#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

// The palette of the pictures, by meaning (pictures/palette.h). Colours that carry text are checked for contrast: #00694d
// on white 6.7, #46d3ab on #121212 9.9.
constexpr std::string_view kHead = R"(<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="supported-color-schemes" content="light dark">
<style>
:root { color-scheme: light dark; }
body { margin: 0; padding: 0; background: #ffffff; color: #1a1a1a; }
.sheet { max-width: 34em; margin: 0 auto; padding: 20px 16px; font: 16px/1.45 system-ui, "Segoe UI", "DejaVu Sans", sans-serif; }
h1 { margin: 0 0 4px; font-size: 23px; line-height: 1.25; }
h2 { margin: 24px 0 2px; font-size: 18px; line-height: 1.3; }
.when { margin: 0 0 4px; font-size: 14px; color: #595959; }
.event { margin: 0 0 14px; }
table { width: 100%; border-collapse: collapse; margin: 0 0 14px; }
td { padding: 5px 0; border-top: 1px solid #d9d9d9; vertical-align: top; font-variant-numeric: tabular-nums; }
td.name { width: 8em; padding-right: 12px; color: #595959; }
td.strong, td.judged { font-weight: 600; }
td.judged { color: #00694d; }
.meaning { margin: 0 0 8px; padding-left: 10px; border-left: 4px solid #0072b2; }
.extra { margin: 0 0 14px; padding: 8px 10px; border: 2px solid #d55e00; }
.note { margin: 14px 0; padding: 8px 10px; background: #f0f0f0; overflow-wrap: anywhere; }
.note p { margin: 2px 0; }
img { display: block; width: 100%; height: auto; margin: 16px 0; }
.foot { margin: 18px 0 0; font-size: 13px; color: #595959; }
@media (prefers-color-scheme: dark) {
  body { background: #121212 !important; color: #ececec !important; }
  .when, td.name, .foot { color: #b0b0b0 !important; }
  td { border-top-color: #3a3a3a !important; }
  td.judged { color: #46d3ab !important; }
  .meaning { border-left-color: #56b4e9 !important; }
  .note { background: #262626 !important; }
  .bright { display: none !important; }
  .dim { display: block !important; }
}
</style>
</head>
<body>
<div class="sheet">
)";

std::string element(std::string_view tag, std::string_view css, std::string_view text) {
  std::string out = "<" + std::string(tag);
  if (!css.empty()) out.append(" class=\"").append(css).append("\"");
  return out.append(">").append(escape_html(text)).append("</").append(tag).append(">\n");
}

std::string row(std::string_view name, const std::string& value, std::string_view look = {}) {
  if (value.empty()) return {};
  const std::string shown = look.empty() ? std::string() : " class=\"" + std::string(look) + "\"";
  return "<tr><td class=\"name\">" + escape_html(name) + "</td><td" + shown + ">" + escape_html(value) + "</td></tr>\n";
}

/// Set apart from what the notice itself says: the user's own words, and what is to be borne in mind, each on its line.
std::string note_box(std::string_view note) {
  std::string out = "<div class=\"note\">\n";
  for (std::size_t from = 0; from < note.size();) {
    const std::size_t end = std::min(note.find("; ", from), note.size());
    out += element("p", "", (from == 0 ? "Note: " : "") + std::string(note.substr(from, end - from)));
    from = end + 2;
  }
  return out + "</div>\n";
}

std::string price_rows(const Notice& notice) {
  std::string out;
  if (notice.price.is_set()) out += row("Price", to_string(notice.price), "strong");
  if (notice.pivot.is_set() && notice.price.is_set()) {
    out += row("From the pivot", percent_from(notice.price, notice.pivot) + " of " + to_string(notice.pivot));
  }
  if (notice.range_top.is_set()) out += row("Buy range", to_string(notice.pivot) + " to " + to_string(notice.range_top));
  if (notice.loss_limit.is_set()) out += row("Loss limit", to_string(notice.loss_limit));
  return out;
}

std::string facts(const Notice& notice) {
  std::string rows = price_rows(notice);
  if (notice.pivot.is_set()) {
    rows += row("Volume", volume_phrase(notice.volume));
    rows += row("Judgement", odds_phrase(notice.volume), "judged");
    rows += row("Market", notice.trend == Trend::unknown ? "not set" : std::string(to_string(notice.trend)));
    if (notice.age != -1) rows += row("Data", span_text(std::max<Nanos>(notice.age, 0)) + " old");  // a tape has no age
  }
  return rows.empty() ? rows : "<table role=\"presentation\">\n" + rows + "</table>\n";
}

std::string when(const NoticeRecord& record) {
  return element("p", "when",
                 to_string(record.notice.day) + ", " + to_clock(record.notice.time, record.offset) +
                     (record.notice.pivot.is_set() ? " exchange time" : ""));
}

std::string event_line(const NoticeRecord& record, const Spoken& words) {
  return element("p", "event", clean_line(record.symbol, 24) + " " + words.event + ".");
}

std::string meanings(const Spoken& words) {
  std::string out;
  for (const std::string& sentence : words.meaning) out += element("p", "meaning", sentence);
  return words.note.empty() ? out : out + note_box(words.note);
}

/// What the dispatcher put around the notice's own text, such as how late it goes out.
std::string around(const Message& message, const std::string& own) {
  const std::size_t at = message.text.find(own);
  if (at == std::string::npos) return clean_line(message.text, 1000);
  return clean_line(message.text.substr(0, at) + " " + message.text.substr(at + own.size()), 1000);
}

std::string one_notice(const Message& message) {
  const NoticeRecord& record = message.notices.front();
  const Spoken words = spoken(record);
  const std::string extra = around(message, record.text);
  std::string out = when(record) + element("h1", "", message.title);
  if (!extra.empty()) out += element("p", "extra", extra);
  return out + event_line(record, words) + facts(record.notice) + meanings(words);
}

std::string image(const std::string& cid, const std::string& alt, std::string_view more) {
  return "<img src=\"cid:" + cid + "\" alt=\"" + alt + "\"" + std::string(more) + ">\n";
}

std::string many_notices(const Message& message) {
  std::string out = element("h1", "", message.title);
  for (const NoticeRecord& record : message.notices) {
    const Spoken words = spoken(record);
    out += element("h2", "", record.title) + when(record) + event_line(record, words);
    for (const std::string& line : words.state) out += element("p", "event", line);
    out += meanings(words);
  }
  return out;
}

std::string links(const Message& message) {
  if (message.links.empty()) return {};
  std::string out = element("p", "event", "Answer (each once, for a day; the page asks first):") + "<p class=\"event\">";
  for (const MessageLink& link : message.links)
    out += "<a href=\"" + escape_html(link.url) + "\">" + escape_html(link.words) + "</a> &nbsp; ";
  return out + "</p>\n";
}

}  // namespace

std::string escape_html(std::string_view text) { return escape_markup(clean_line(text, 2000)); }

std::string picture_alt(const Message& message) {
  if (message.notices.empty()) return "The day so far.";
  const NoticeRecord& record = message.notices.front();
  const Notice& notice = record.notice;
  std::string alt = "The day of " + clean_line(record.symbol, 24) + " so far";
  if (notice.price.is_set()) alt += ": price " + to_string(notice.price);
  if (notice.pivot.is_set())
    alt += ", pivot " + to_string(notice.pivot) + ", buy range to " + to_string(notice.range_top);
  return alt + "; volume " + volume_phrase(notice.volume) + ".";
}

std::string mail_html(const Message& message, const PictureIds& pictures) {
  std::string out(kHead);
  out.insert(out.find("<style>"), "<title>" + escape_html(message.title) + "</title>\n");
  if (message.notices.size() == 1) out += one_notice(message);
  else if (message.notices.empty()) out += element("h1", "", message.title) + element("p", "event", message.text);
  else out += many_notices(message);
  const std::string alt = escape_html(picture_alt(message));
  if (!pictures.light.empty()) out += image(pictures.light, alt, pictures.dark.empty() ? "" : " class=\"bright\"");
  if (!pictures.dark.empty()) out += image(pictures.dark, alt, " class=\"dim\" style=\"display: none\"");
  return out + links(message) + element("p", "foot", kCaution) + "</div>\n</body>\n</html>\n";
}

}  // namespace brimwatch
