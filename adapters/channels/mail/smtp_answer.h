#pragma once
// What became of a mail, judged by the last answer of the server (RFC 5321, section 4.2.1). Pure.
#include <string>
#include <string_view>

#include "adapters/channel.h"

namespace brimwatch {

/// What was heard in one transaction for one recipient.
struct SmtpTalk {
  bool finished = false;    ///< the library saw it through: accepted after the final dot
  bool body_given = false;  ///< all of the message was handed over, the final dot perhaps too
  std::string verb;         ///< last command sent: "RCPT"; empty before the greeting
  std::string reply;        ///< last answer, one line: "550 5.1.1 no such user"
  std::string trouble;      ///< the library's own words when it did not finish
  int code = 0;             ///< code of `reply`, 0 when there was none

  /// Takes a line that was sent or received; what follows AUTH is never kept.
  void sent(std::string_view line);
  void received(std::string_view line);

 private:
  bool continued_ = false;  ///< the last answer has more lines to come
  bool quitting_ = false;   ///< what is said after QUIT decides nothing
};

/// 2yz delivered, 4yz retry, 5yz dead; 552 to RCPT counts as 452 (section 4.5.3.1.10). No answer after the whole message
/// was given: unknown, it may have arrived. Everything else may work another time.
[[nodiscard]] Delivery judge(const SmtpTalk& talk);

}  // namespace brimwatch
