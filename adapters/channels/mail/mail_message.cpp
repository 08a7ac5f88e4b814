#include "adapters/channels/mail/mail_message.h"

#include "adapters/channels/crypto.h"
#include "adapters/channels/mail/mail_html.h"
#include "core/caution.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

/// An id that is safe in a header whatever `about` holds; the same text gives the same id.
std::string id_of(std::string_view what, std::string_view about, const Mailbox& from) {
  const std::string domain = from.address.substr(from.address.rfind('@') + 1);
  return "<" + std::string(what) + "." + sha256_hex(std::string(about) + '\0' + from.address, 32) + "@" + domain + ">";
}

std::string thread_of(const Message& message) {
  if (message.notices.size() != 1) {
    return "digest " + (message.notices.empty() ? std::string() : to_string(message.notices.front().notice.day));
  }
  const NoticeRecord& record = message.notices.front();
  return to_string(record.notice.day) + " " + to_string(record.notice.pivot) + " " + record.symbol;
}

/// A file name made of nothing but letters, digits, '-' and '.'.
std::string picture_name(const Message& message, std::string_view which) {
  std::string name;
  const std::string wanted = message.notices.empty()
                                 ? std::string()
                                 : message.notices.front().symbol + "-" + to_string(message.notices.front().notice.day);
  for (const char c : wanted.substr(0, 60)) {
    const bool safe = (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '-';
    name += safe ? c : '-';
  }
  return (name.empty() ? "day" : name).append(which) + ".png";
}

std::string text_part(std::string_view kind, std::string_view text) {
  return "Content-Type: text/" + std::string(kind) +
         "; charset=utf-8\r\nContent-Transfer-Encoding: quoted-printable\r\n\r\n" + quoted_printable(text);
}

std::string picture_part(const std::vector<std::uint8_t>& png, const std::string& name, const std::string& cid) {
  const std::string_view bytes(reinterpret_cast<const char*>(png.data()), png.size());
  return "Content-Type: image/png\r\nContent-Transfer-Encoding: base64\r\nContent-ID: <" + cid +
         ">\r\nContent-Disposition: inline; filename=\"" + name + "\"\r\n\r\n" + base64_lines(bytes);
}

/// "=_" occurs in no quoted-printable and no base64 text, so that a boundary with it is in no part (RFC 2045,
/// section 6.7).
std::string boundary(std::string_view name, const Message& message) {
  return "=_" + std::string(name) + "_" + sha256_hex(message.id, 24);
}

std::string multipart(const std::string& mark, const std::vector<std::string>& parts) {
  std::string out;
  for (const std::string& part : parts) out += "--" + mark + "\r\n" + part;
  return out + "--" + mark + "--\r\n";
}

std::string without_brackets(const std::string& id) { return id.substr(1, id.size() - 2); }

std::string related(const Message& message, const std::vector<std::string>& parts) {
  const std::string mark = boundary("related", message);
  return "Content-Type: multipart/related; type=\"text/html\";\r\n boundary=\"" + mark + "\"\r\n\r\n" +
         multipart(mark, parts);
}

void replace_all(std::string& text, const std::string& what, const std::string& with) {
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + with.size()))
    text.replace(at, what.size(), with);
}

/// A page that the message brings along, its pictures beside it.
std::string page_part(const Message& message, const Mailbox& from) {
  std::string html = message.html;
  std::vector<std::string> parts{{}};
  for (const InlinePicture& picture : message.pictures) {
    const std::string cid = without_brackets(id_of("picture-" + picture.name, message.id, from));
    replace_all(html, "\"cid:" + picture.name + "\"", "\"cid:" + cid + "\"");
    parts.push_back(picture_part(picture.png, picture.name + ".png", cid));
  }
  parts.front() = text_part("html", html);
  return parts.size() == 1 ? parts.front() : related(message, parts);
}

std::string html_part(const Message& message, const Mailbox& from) {
  if (!message.html.empty()) return page_part(message, from);
  if (message.picture_png.empty()) return text_part("html", mail_html(message, {}));
  PictureIds ids{without_brackets(id_of("picture", message.id, from)), {}};
  std::vector<std::string> parts{{}, picture_part(message.picture_png, picture_name(message, ""), ids.light)};
  if (!message.picture_dark_png.empty()) {
    ids.dark = without_brackets(id_of("picture-dark", message.id, from));
    parts.push_back(picture_part(message.picture_dark_png, picture_name(message, "-dark"), ids.dark));
  }
  parts.front() = text_part("html", mail_html(message, ids));
  return related(message, parts);
}

/// Each on a line of its own, so that no reader cuts one.
std::string links_text(const Message& message) {
  std::string out;
  for (const MessageLink& link : message.links) out += "\n" + link.words + ":\n" + link.url;
  return out.empty() ? out : "\n\nAnswer (each link once, for a day; the page asks before anything is done):" + out;
}

std::string plain_text(const Message& message) {
  std::string text;
  for (const char c : clean_utf8(message.text)) {
    const bool control = (c >= 0 && c < 0x20 && c != '\n') || c == 0x7F;
    text += control ? ' ' : c;
  }
  return text + links_text(message) + "\n\n" + wrap(kCaution, 76, 0) + "\n";
}

std::string headers(const Message& message, const Envelope& envelope) {
  const bool dated = !message.notices.empty();
  const Timestamp time = dated ? message.notices.front().notice.time : Timestamp{};
  const std::string thread = thread_id(message, envelope.from);
  return "Date: " + mail_date(time, dated ? message.notices.front().offset : std::chrono::seconds{}) + "\r\n" +
         mailbox_header("From", {envelope.from}) + mailbox_header("To", envelope.to) +
         text_header("Subject", message.title) + "Message-ID: " + message_id(message, envelope.from) +
         "\r\nIn-Reply-To: " + thread + "\r\nReferences: " + thread +
         "\r\nAuto-Submitted: auto-generated\r\nMIME-Version: 1.0\r\n";
}

}  // namespace

std::string message_id(const Message& message, const Mailbox& from) { return id_of("notice", message.id, from); }

std::string thread_id(const Message& message, const Mailbox& from) { return id_of("thread", thread_of(message), from); }

std::string compose_mail(const Message& message, const Envelope& envelope) {
  const std::string mark = boundary("alternative", message);
  return headers(message, envelope) + "Content-Type: multipart/alternative;\r\n boundary=\"" + mark + "\"\r\n\r\n" +
         multipart(mark, {text_part("plain", plain_text(message)), html_part(message, envelope.from)});
}

}  // namespace brimwatch
