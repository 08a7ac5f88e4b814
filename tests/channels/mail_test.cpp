// What a mail is made of, read back by an independent parser (Python's email package).
#include <gtest/gtest.h>

#include "adapters/channels/crypto.h"
#include "adapters/channels/mail/mail_headers.h"
#include "adapters/channels/mail/mail_html.h"
#include "adapters/channels/mail/mail_message.h"
#include "core/text/json.h"
#include "tests/channels/messages.h"
#include "tests/support/hostile_text.h"
#include "tests/support/peer.h"

namespace brimwatch {
namespace {

using testing_support::digest_of;
using testing_support::message_of;
using testing_support::Peer;
using testing_support::sample_notice;
using testing_support::sample_record;

const Envelope kEnvelope{{"Brimwatch", "watch@example.org"},
                         {{"", "me@example.org"}, {"Jos\xC3\xA9, the other", "jose@example.net"}}};

Json read_back(const std::string& mail) {
  Peer reader({"/usr/bin/python3", BRIMWATCH_SOURCE_DIR "/tests/channels/read_mail.py"});
  std::thread writer([&] {
    reader.say(mail);
    reader.end_input();
  });
  const std::string text = reader.all();
  writer.join();
  return text.empty() ? Json() : Json::parse(text);
}

std::string header(const Json& mail, const std::string& name) {
  std::string value = "(none)";
  for (const Json& entry : mail.at("headers")) {
    if (entry[0] != name) continue;
    EXPECT_EQ(value, "(none)") << name << " appears twice";
    value = entry[1];
  }
  return value;
}

// RFC 5322, section 3.6: Date and From once; RFC 3834, section 5: Auto-Submitted; RFC 2046, section 5.1.4: plainest
// first; RFC 2387: multipart/related with its type.
TEST(Mail, HasTheHeadersAndPartsThatTheStandardsAskFor) {
  const Message message = message_of(sample_record(), {0x89, 'P', 'N', 'G', 0, 1, 2, 255});
  const Json mail = read_back(compose_mail(message, kEnvelope));
  EXPECT_EQ(mail["defects"], Json::array());
  EXPECT_EQ(mail["date"], "2026-11-25T10:42:07-05:00");
  EXPECT_EQ(header(mail, "Subject"), "KLVN crossed 48.35: heavy, odds 0.94");
  EXPECT_EQ(mail["addresses"]["from"], Json::parse(R"([["Brimwatch", "watch@example.org"]])"));
  EXPECT_EQ(mail["addresses"]["to"], Json::parse(R"([["", "me@example.org"], ["José, the other", "jose@example.net"]])"));
  EXPECT_EQ(header(mail, "Auto-Submitted"), "auto-generated");
  EXPECT_EQ(header(mail, "MIME-Version"), "1.0");
  EXPECT_EQ(header(mail, "Message-ID"), message_id(message, kEnvelope.from));
  EXPECT_EQ(header(mail, "References"), thread_id(message, kEnvelope.from));
  EXPECT_EQ(header(mail, "In-Reply-To"), thread_id(message, kEnvelope.from));

  const Json& parts = mail["parts"];
  ASSERT_EQ(parts.size(), 5U);
  EXPECT_EQ(parts[0]["type"], "multipart/alternative");
  EXPECT_EQ(parts[1]["type"], "text/plain");
  EXPECT_EQ(parts[2]["type"], "multipart/related");
  EXPECT_EQ(parts[2]["params"]["type"], "text/html");
  EXPECT_EQ(parts[3]["type"], "text/html");
  EXPECT_EQ(parts[4]["type"], "image/png");
  EXPECT_EQ(parts[4]["base64"], base64(std::string_view("\x89PNG\0\1\2\xff", 8)));
  EXPECT_EQ(parts[4]["content-disposition"], "inline; filename=\"KLVN-2026-11-25.png\"");
  const std::string cid = parts[4]["content-id"];
  EXPECT_NE(parts[3]["text"].get<std::string>().find("src=\"cid:" + cid.substr(1, cid.size() - 2) + "\""),
            std::string::npos);
  EXPECT_NE(parts[3]["text"].get<std::string>().find("alt=\"The day of KLVN so far"), std::string::npos);
  for (const Json& part : parts) EXPECT_EQ(part["defects"], Json::array());
}

// RFC 5322, section 2.1.1 (78 characters), RFC 2045, sections 2.7 and 6.7 (76, no bare CR or LF), RFC 2047 (75 a word).
TEST(Mail, LinesAreShortAsciiAndEndWithCrLf) {
  NoticeRecord record = word(sample_notice(), {"KLVN", std::string(180, 'x') + " \xE2\x82\xAC. . .\n.", {}});
  record.title =
      "\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC\xE2\x82\xAC "
      "and a title that is long enough for two encoded words \xF0\x9F\x93\x88";
  const std::string bytes = compose_mail(message_of(record, std::vector<std::uint8_t>(5000, 7)), kEnvelope);
  const Json mail = read_back(bytes);
  EXPECT_LE(mail["longest"], 76);
  EXPECT_EQ(mail["bare"], false);
  EXPECT_EQ(mail["ascii"], true);
  EXPECT_EQ(header(mail, "Subject"), record.title);
  EXPECT_EQ(bytes.find("\r\n."), std::string::npos);
}

TEST(Mail, PlainPartStandsAlone) {
  const Json mail = read_back(compose_mail(message_of(sample_record()), kEnvelope));
  ASSERT_EQ(mail["parts"].size(), 3U);
  EXPECT_EQ(mail["parts"][1]["text"],
            sample_record().text +
                "\n\nInformation, not advice. Data may be late or wrong: verify with your broker\nbefore you act.");
  EXPECT_EQ(mail["parts"][2]["type"], "text/html");
}

TEST(Mail, IsTheSameOnEveryAttempt) {
  Message message = message_of(sample_record());
  const std::string first = compose_mail(message, kEnvelope);
  message.attempt = 5;
  EXPECT_EQ(compose_mail(message, kEnvelope), first);
}

TEST(Mail, OneSymbolsNoticesOfADayAreOneThread) {
  const auto thread = [](const NoticeRecord& record) { return thread_id(message_of(record), kEnvelope.from); };
  Notice other = sample_notice();
  other.pivot = Price{50'000'000};
  Notice later = sample_notice();
  later.day = later.day + 1;
  const std::string one = thread(sample_record());
  EXPECT_EQ(thread(sample_record(NoticeKind::left_range)), one);
  EXPECT_NE(thread(word(other, {"KLVN", "", {}})), one);
  EXPECT_NE(thread(word(later, {"KLVN", "", {}})), one);
  EXPECT_NE(thread(word(sample_notice(), {"ORRI", "", {}})), one);
  EXPECT_NE(message_id(message_of(sample_record(NoticeKind::left_range)), kEnvelope.from),
            message_id(message_of(sample_record()), kEnvelope.from));
}

TEST(Mail, DigestListsItsNotices) {
  const Json mail =
      read_back(compose_mail(digest_of({sample_record(), sample_record(NoticeKind::left_range)}), kEnvelope));
  const std::string html = mail["parts"][2]["text"];
  EXPECT_NE(html.find("<h2>KLVN crossed 48.35: heavy, odds 0.94</h2>"), std::string::npos);
  EXPECT_NE(html.find("<h2>KLVN left the range"), std::string::npos);
}

TEST(Mail, LatenessStandsOutInBothParts) {
  Message message = message_of(sample_record());
  message.late = std::chrono::seconds(720);
  message.text = "Late by 12 min.\n" + message.text;
  const Json mail = read_back(compose_mail(message, kEnvelope));
  EXPECT_EQ(mail["parts"][1]["text"].get<std::string>().find("Late by 12 min.\n"), 0U);
  EXPECT_NE(mail["parts"][2]["text"].get<std::string>().find("<p class=\"extra\">Late by 12 min.</p>"),
            std::string::npos);
}

TEST(Mail, HostileTextAddsNoHeaderNoPartNoMarkup) {
  for (const std::string& hostile : testing_support::hostile_texts()) {
    NoticeRecord record = word(sample_notice(), {hostile, hostile, {}});
    record.title += hostile;
    Message message = message_of(record, {1, 2, 3});
    message.text += hostile;
    Envelope envelope = kEnvelope;
    envelope.to[0].name = hostile;
    const std::string bytes = compose_mail(message, envelope);
    const std::string head = bytes.substr(0, bytes.find("\r\n\r\n"));
    std::size_t fields = 0;
    for (std::size_t at = 0; at != std::string::npos; at = head.find("\r\n", at + 1)) {
      fields += head[at == 0 ? 0 : at + 2] != ' ';
    }
    EXPECT_EQ(fields, 10U) << head;
    EXPECT_EQ(head.find('\0'), std::string::npos);
    EXPECT_EQ(bytes.find("<script>alert", bytes.find("<!DOCTYPE")), std::string::npos);
    EXPECT_EQ(bytes.find("\r\n.\r\n"), std::string::npos);
  }
}

TEST(Mail, HostileTextIsReadBackWhole) {
  for (const char* hostile : {"KLVN\r\nBcc: other@example.org", "<script>alert(1)</script>", "\xff\xe2\x80\xae",
                              "=?utf-8?B?AAAA?=", "\"', <c@d> (x) [y]"}) {
    NoticeRecord record = sample_record();
    record.title = hostile;
    Envelope envelope = kEnvelope;
    envelope.to[0].name = hostile;
    const Json mail = read_back(compose_mail(message_of(record), envelope));
    EXPECT_EQ(mail["defects"], Json::array()) << hostile;
    EXPECT_EQ(header(mail, "Bcc"), "(none)");
    EXPECT_EQ(mail["parts"].size(), 3U);
    EXPECT_EQ(mail["addresses"]["to"].size(), 2U) << mail["addresses"]["to"];
    EXPECT_EQ(mail["addresses"]["to"][0][1], "me@example.org");
  }
}

TEST(Mailbox, TakesPlainAddressesAndNames) {
  EXPECT_EQ(parse_mailbox("me@example.org")->address, "me@example.org");
  EXPECT_EQ(*parse_mailbox("Me Too <me+tag@example.org>"), (Mailbox{"Me Too", "me+tag@example.org"}));
  EXPECT_EQ(*parse_mailbox("\"Too, Me\" <me@[127.0.0.1]>"), (Mailbox{"Too, Me", "me@[127.0.0.1]"}));
}

TEST(Mailbox, RefusesWhatCouldCarryMore) {
  for (const char* text :
       {"", "me", "me@", "@example.org", "me@example.org\r\nBcc: a@b.c", "me@example.org, you@example.org",
        "<me@example.org", "me@exa mple.org", "m\xC3\xA9@example.org", ".me@example.org", "me..too@example.org", "a@b@c",
        "\"a b\"@example.org", "me@example.org>", "me@example.org NOTIFY=NEVER"}) {
    EXPECT_FALSE(parse_mailbox(text)) << text;
  }
  EXPECT_FALSE(parse_mailbox(std::string(65, 'a') + "@example.org"));
}

// RFC 2045, section 6.7: soft line breaks, blanks at the end of a line encoded, at most 76 characters.
TEST(QuotedPrintable, FollowsItsRules) {
  EXPECT_EQ(quoted_printable("a=b \n.\nx"), "a=3Db=20\r\n=2E\r\nx\r\n");
  EXPECT_EQ(quoted_printable("\xC3\xA9\r"), "=C3=A9=0D\r\n");
  EXPECT_EQ(quoted_printable(std::string(80, 'a')), std::string(75, 'a') + "=\r\n" + std::string(5, 'a') + "\r\n");
  EXPECT_EQ(quoted_printable(std::string(75, 'a') + ".b"), std::string(75, 'a') + "=\r\n=2Eb\r\n");
}

TEST(MailDate, IsAsRfc5322Wants) {
  const Timestamp time = *parse_rfc3339("2026-11-25T15:42:07.9Z");
  EXPECT_EQ(mail_date(time, std::chrono::hours(-5)), "Wed, 25 Nov 2026 10:42:07 -0500");
  EXPECT_EQ(mail_date(time, std::chrono::minutes(330)), "Wed, 25 Nov 2026 21:12:07 +0530");
  EXPECT_EQ(mail_date(time, {}), "Wed, 25 Nov 2026 15:42:07 +0000");
}

TEST(Html, EscapesMarkup) { EXPECT_EQ(escape_html("<a href=\"x\">&'\n"), "&lt;a href=&quot;x&quot;&gt;&amp;&#39;"); }

}  // namespace
}  // namespace brimwatch
