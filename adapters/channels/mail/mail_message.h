#pragma once
// A message as an internet mail: headers and parts, ready for SMTP or for an .eml file.
//
//   multipart/alternative
//     text/plain                  stands alone
//     multipart/related           (text/html alone where there is no picture)
//       text/html
//       image/png                 inline; a second one for a dark ground
//
// The same message gives the same bytes on every attempt: Message-ID and boundaries come from its id, Date from its time.
#include <string>
#include <vector>

#include "adapters/channel.h"
#include "adapters/channels/mail/mail_headers.h"

namespace brimwatch {

struct Envelope {
  Mailbox from;
  std::vector<Mailbox> to;
};

[[nodiscard]] std::string compose_mail(const Message& message, const Envelope& envelope);

/// "<...@domain of the sender>"
[[nodiscard]] std::string message_id(const Message& message, const Mailbox& from);

/// The message's thread: one a day for a symbol and its pivot, for a feed, for the program, for digests.
[[nodiscard]] std::string thread_id(const Message& message, const Mailbox& from);

}  // namespace brimwatch
