#include "adapters/channels/mail/smtp_answer.h"

#include <algorithm>
#include <array>

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, 7> kVerbs{"EHLO", "HELO", "STARTTLS", "AUTH", "MAIL", "RCPT", "DATA"};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

int code_of(std::string_view line) {
  if (line.size() < 3 || !is_digit(line[0]) || !is_digit(line[1]) || !is_digit(line[2])) return 0;
  if (line.size() > 3 && line[3] != ' ' && line[3] != '-') return 0;
  return (line[0] - '0') * 100 + (line[1] - '0') * 10 + (line[2] - '0');
}

}  // namespace

void SmtpTalk::sent(std::string_view line) {
  const std::string_view word = line.substr(0, line.find_first_of(" \r\n"));
  quitting_ |= word == "QUIT";
  if (std::find(kVerbs.begin(), kVerbs.end(), word) != kVerbs.end()) verb = word;
}

void SmtpTalk::received(std::string_view line) {
  const int heard = code_of(line);
  if (heard == 0 || quitting_) return;
  const std::string text = clean_line(line, 200);
  if (continued_ && heard == code && reply.size() < 400) reply += " " + (text.size() > 4 ? text.substr(4) : "");
  else reply = text;
  code = heard;
  continued_ = line.size() > 3 && line[3] == '-';
}

Delivery judge(const SmtpTalk& talk) {
  const std::string said = talk.reply.empty() ? talk.trouble : talk.reply;
  const std::string both =
      talk.reply.empty() || talk.trouble.empty() ? said : talk.trouble + " (last answer: " + talk.reply + ")";
  if (talk.finished) return {Outcome::delivered, said, std::nullopt};
  if (talk.code >= 500) {
    const bool too_many = talk.code == 552 && talk.verb == "RCPT";
    return {too_many ? Outcome::retry : Outcome::dead, said, std::nullopt};
  }
  if (talk.code >= 400) return {Outcome::retry, said, std::nullopt};
  if (talk.body_given)
    return {Outcome::unknown, "no answer after the message was given over: " + talk.trouble, std::nullopt};
  return {Outcome::retry, both, std::nullopt};
}

}  // namespace brimwatch
