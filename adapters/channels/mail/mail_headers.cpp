#include "adapters/channels/mail/mail_headers.h"

#include <algorithm>
#include <cstdio>

#include "adapters/channels/crypto.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::string_view kLine = "\r\n";
constexpr std::size_t kMailLineMost = 76;

bool is_alnum(char c) { return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }

/// atext of RFC 5322, section 3.2.3.
bool is_atext(char c) { return is_alnum(c) || std::string_view("!#$%&'*+-/=?^_`{|}~").find(c) != std::string_view::npos; }

bool is_plain(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return c >= 0x20 && c < 0x7F; });
}

template <typename Allowed>
bool dotted(std::string_view text, Allowed allowed) {
  if (text.empty() || text.front() == '.' || text.back() == '.') return false;
  if (text.find("..") != std::string_view::npos) return false;
  return std::all_of(text.begin(), text.end(), [&](char c) { return c == '.' || allowed(c); });
}

/// Limits of RFC 5321, section 4.5.3.1.
bool is_address(std::string_view text) {
  const std::size_t at = text.rfind('@');
  if (at == std::string_view::npos || at > 64 || text.size() - at - 1 > 255 || text.size() > 254) return false;
  const std::string_view domain = text.substr(at + 1);
  const bool literal = domain.size() > 2 && domain.front() == '[' && domain.back() == ']';
  const bool good_domain =
      literal ? domain.substr(1, domain.size() - 2).find_first_not_of("0123456789.") == std::string_view::npos
              : dotted(domain, [](char c) { return is_alnum(c) || c == '-'; });
  return good_domain && dotted(text.substr(0, at), is_atext);
}

/// Breaks `text` into encoded words of whole characters, each at most 75 characters (RFC 2047, section 2).
std::string encoded_words(std::string_view text) {
  constexpr std::size_t kBytes = 39;  // 52 characters of base64: with "=?utf-8?B?", "?=" and "Subject: " 73 a line
  std::string out;
  while (!text.empty()) {
    std::size_t size = std::min(kBytes, text.size());
    while (size < text.size() && (static_cast<unsigned char>(text[size]) & 0xC0U) == 0x80U) --size;
    if (!out.empty()) out.append(kLine).append(" ");
    out.append("=?utf-8?B?").append(base64(text.substr(0, size))).append("?=");
    text.remove_prefix(size);
  }
  return out;
}

/// A display name: as it is where it is made of plain words, else in quotes or encoded.
std::string phrase(std::string_view text) {
  const std::string name = clean_line(text, 100);
  if (!is_plain(name) || name.find("=?") != std::string::npos) return encoded_words(name);
  if (std::all_of(name.begin(), name.end(), [](char c) { return is_atext(c) || c == ' '; })) return name;
  std::string out = "\"";
  for (const char c : name) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + "\"";
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
  while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
  return text;
}

void append_escaped(std::string& line, unsigned char byte) {
  constexpr char kDigits[] = "0123456789ABCDEF";
  line.append(1, '=').append(1, kDigits[byte >> 4]).append(1, kDigits[byte & 15]);
}

/// One line of text, without its end, as quoted-printable with soft breaks (RFC 2045, section 6.7).
std::string quoted_printable_line(std::string_view text) {
  std::string out, line;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const bool last = i + 1 == text.size();
    const bool blank = byte == ' ' || byte == '\t';
    const bool plain = (byte > 0x20 && byte < 0x7F && byte != '=') || (blank && !last);
    const bool dot_first = line.empty() && byte == '.';  // a lone dot ends a message in SMTP; a relay may mend it wrongly
    if (line.size() + (plain && !dot_first ? 1 : 3) > kMailLineMost - 1) {
      out.append(line).append("=").append(kLine);
      line.clear();
    }
    if (plain && !(line.empty() && byte == '.')) line += static_cast<char>(byte);
    else append_escaped(line, byte);
  }
  return out + line;
}

}  // namespace

Result<Mailbox> parse_mailbox(std::string_view text) {
  const std::string shown = "\"" + clean_line(text, 100) + "\"";
  const auto is_control = [](char c) { return (c >= 0 && c < 0x20) || c == 0x7F; };
  if (std::any_of(text.begin(), text.end(), is_control))
    return fail("found " + shown + " with a control character in it");
  Mailbox mailbox;
  const std::size_t open = text.rfind('<');
  std::string_view address = trim(text);
  if (open != std::string_view::npos) {
    if (address.back() != '>') return fail("found " + shown + ", expected an address such as Name <me@example.org>");
    address = text.substr(open + 1, text.rfind('>') - open - 1);
    mailbox.name = clean_line(text.substr(0, open), 100);
    std::string& name = mailbox.name;
    if (name.size() >= 2 && name.front() == '"' && name.back() == '"') name = name.substr(1, name.size() - 2);
  }
  if (!is_address(address)) return fail("found " + shown + ", expected a plain address such as me@example.org");
  mailbox.address = address;
  return mailbox;
}

std::string text_header(std::string_view name, std::string_view text) {
  const std::string clean = clean_line(text, 200);
  const std::string start = std::string(name) + ": ";
  if (!is_plain(clean) || clean.find("=?") != std::string::npos) return start + encoded_words(clean) + std::string(kLine);
  const std::string folded = wrap(start + clean, kMailLineMost, 1);
  std::string out;
  for (const char c : folded) c == '\n' ? out.append(kLine) : out.append(1, c);
  return out.append(kLine);
}

std::string mailbox_header(std::string_view name, const std::vector<Mailbox>& mailboxes) {
  std::string out = std::string(name) + ":";
  for (std::size_t i = 0; i < mailboxes.size(); ++i) {
    const Mailbox& mailbox = mailboxes[i];
    out += i == 0 ? " " : ",\r\n ";
    if (mailbox.name.empty()) out += mailbox.address;
    else out.append(phrase(mailbox.name)).append("\r\n <").append(mailbox.address).append(">");
  }
  return out.append(kLine);
}

std::string mail_date(Timestamp time, std::chrono::seconds offset) {
  constexpr const char* kDays[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::string stamp = to_rfc3339(time, offset);  // 2026-11-25T10:42:07...
  const Date date = parse_date(stamp.substr(0, 10)).value_or(Date{});
  const auto ymd = date.ymd();
  const long long minutes = offset.count() / 60, size = minutes < 0 ? -minutes : minutes;
  char text[64];
  std::snprintf(text, sizeof text, "%s, %u %s %d %s %c%02lld%02lld", kDays[date.weekday().c_encoding()],
                static_cast<unsigned>(ymd.day()), kMonths[static_cast<unsigned>(ymd.month()) - 1],
                static_cast<int>(ymd.year()), stamp.substr(11, 8).c_str(), minutes < 0 ? '-' : '+', size / 60, size % 60);
  return text;
}

std::string quoted_printable(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t end = text.find('\n');
    out.append(quoted_printable_line(text.substr(0, end))).append(kLine);
    if (end == std::string_view::npos) break;
    text.remove_prefix(end + 1);
  }
  return out;
}

std::string base64_lines(std::string_view bytes) {
  const std::string all = base64(bytes);
  std::string out;
  for (std::size_t at = 0; at < all.size(); at += kMailLineMost) out.append(all, at, kMailLineMost).append(kLine);
  return out;
}

}  // namespace brimwatch
