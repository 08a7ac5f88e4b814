#pragma once
// The pieces of an internet message (RFC 5322, 2045, 2047): addresses, header lines, dates, transfer encodings. All lines
// end with CR LF and are at most 76 characters; text from outside can neither end a header nor begin one.
#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/text/timestamp.h"

namespace brimwatch {

struct Mailbox {
  std::string name;     ///< shown beside the address; any text, may be empty
  std::string address;  ///< local@domain, plain ASCII

  bool operator==(const Mailbox&) const = default;
};

/// "me@example.org" or "Some Name <me@example.org>". Addresses with quoted or non-ASCII parts are refused, with a reason.
[[nodiscard]] Result<Mailbox> parse_mailbox(std::string_view text);

/// "Subject: ..." folded, with encoded words where the text is not plain ASCII. The text is cleaned first.
[[nodiscard]] std::string text_header(std::string_view name, std::string_view text);

/// "To: =?utf-8?B?...?= <me@example.org>,\r\n other@example.org\r\n"
[[nodiscard]] std::string mailbox_header(std::string_view name, const std::vector<Mailbox>& mailboxes);

/// "Wed, 25 Nov 2026 10:42:07 -0500"
[[nodiscard]] std::string mail_date(Timestamp time, std::chrono::seconds offset);

/// Lines of `text` end with LF; those of the result with CR LF. No line of it begins with a dot.
[[nodiscard]] std::string quoted_printable(std::string_view text);

[[nodiscard]] std::string base64_lines(std::string_view bytes);

}  // namespace brimwatch
