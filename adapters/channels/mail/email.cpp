// Mail by SMTP: smtp:// means STARTTLS or nothing, smtps:// TLS from the first byte; certificate and host name are
// verified always. In clear only to 127.0.0.1 or ::1, and only where insecure_loopback says so. One recipient a
// transaction, so that one refused address does not take the mail from the others.
//
// With write_to, the same mail becomes a file DIRECTORY/....eml and nothing is sent.
#include <algorithm>
#include <deque>
#include <map>
#include <string>
#include <vector>

#include "adapters/channels/curl_handle.h"
#include "adapters/channels/mail/mail_message.h"
#include "adapters/channels/mail/smtp_answer.h"
#include "adapters/channels/makers.h"
#include "adapters/channels/write_file.h"
#include "core/text/text.h"

namespace brimwatch {
namespace {

/// The mail on its way into libcurl, and what is heard meanwhile.
struct Transfer {
  std::string_view rest;
  const std::function<bool()>* may_send = nullptr;
  SmtpTalk talk;
};

std::size_t give(char* buffer, std::size_t size, std::size_t count, void* user) {
  auto& transfer = *static_cast<Transfer*>(user);
  const std::size_t some = std::min(size * count, transfer.rest.size());
  // Without its end no server takes a mail: whoever may not speak any more leaves it unfinished.
  if (some == transfer.rest.size() && *transfer.may_send && !(*transfer.may_send)()) return CURL_READFUNC_ABORT;
  transfer.rest.copy(buffer, some);
  transfer.rest.remove_prefix(some);
  transfer.talk.body_given = transfer.rest.empty();
  return some;
}

int listen(CURL*, curl_infotype type, char* data, std::size_t size, void* user) {
  SmtpTalk& talk = static_cast<Transfer*>(user)->talk;
  const std::string_view line(data, size);
  if (type == CURLINFO_HEADER_OUT) talk.sent(line);
  if (type == CURLINFO_HEADER_IN) talk.received(line);
  return 0;
}

/// The last word for each address that is done with.
using Answers = std::map<std::string, Delivery>;

/// Which recipients of a mail are done with, over its attempts. Who has taken a digest has each of its notices too: where
/// another address refused it, they come again one by one, and under other ids. The oldest are forgotten first: the worst
/// that follows is a second copy.
class Progress {
 public:
  [[nodiscard]] Answers of(const std::string& id) const {
    const auto at = done_.find(id);
    return at == done_.end() ? Answers() : at->second;
  }
  void note(const Message& message, const std::string& address, const Delivery& answer) {
    put(message.id, address, answer);
    if (answer.outcome != Outcome::delivered || message.notices.size() < 2) return;
    for (const NoticeRecord& one : message.notices) put(one.id, address, answer);
  }

 private:
  void put(const std::string& id, const std::string& address, const Delivery& answer) {
    const auto [at, is_new] = done_.try_emplace(id);
    at->second[address] = answer;
    if (!is_new) return;
    order_.push_back(id);
    if (order_.size() <= kMost) return;
    done_.erase(order_.front());
    order_.pop_front();
  }

  static constexpr std::size_t kMost = 2000;  ///< forty of the largest digests with their notices
  std::map<std::string, Answers> done_;
  std::deque<std::string> order_;
};

/// What an address said: now, or before to the same notice.
struct Part {
  std::string address;
  Delivery delivery;
  bool before = false;
};

/// The outcome for all recipients of this attempt: try again while any may still be reached, else the worst of them, so
/// that no refusal goes unheard. The reply also says what those said who were done before.
Delivery together(const std::vector<Part>& parts) {
  Delivery all{Outcome::delivered, {}, std::nullopt};
  const auto rank = [](Outcome outcome) {
    switch (outcome) {
      case Outcome::delivered:
        return 0;
      case Outcome::dead:
        return 1;
      case Outcome::unknown:
        return 2;
      case Outcome::retry:
        return 3;
    }
    return 0;
  };
  for (const auto& [address, part, before] : parts) {
    if (!before && rank(part.outcome) > rank(all.outcome)) all.outcome = part.outcome;
    all.taken_by_some = all.taken_by_some || part.outcome == Outcome::delivered;
    all.reply.append(all.reply.empty() ? "" : "; ").append(parts.size() > 1 ? address + ": " + part.reply : part.reply);
  }
  return all;
}

class Email final : public Channel {
 public:
  Email(ChannelSettings settings, Envelope envelope, const ChannelContext& context, bool clear)
      : settings_(std::move(settings)),
        envelope_(std::move(envelope)),
        secret_(context.secret),
        taken_(context.taken),
        clear_(clear),
        may_send_(context.may_send) {}

  Delivery send(const Message& message) override {
    const std::string mail = compose_mail(message, envelope_);
    if (!settings_.write_to.empty()) return write(message, mail);
    Secret password;
    if (!settings_.user.empty()) {
      Result<Secret> secret = secret_(settings_.secret);
      if (!secret) return {Outcome::retry, "password: " + secret.error().text, std::nullopt};
      password = std::move(*secret);
    }
    return send_to_all(message, mail, password.text());
  }

 private:
  [[nodiscard]] Delivery write(const Message& message, const std::string& mail) const {
    const std::string name = file_name_of(message.id) + ".eml";
    const Status written = write_whole_file(settings_.write_to, name, mail);
    if (!written) return {Outcome::retry, written.error().text, std::nullopt};
    return {Outcome::delivered, "written to " + settings_.write_to + "/" + name, std::nullopt};
  }

  Delivery send_to_all(const Message& message, const std::string& mail, const std::string& password) {
    Answers done = progress_.of(message.id);
    for (const std::string& address : message.taken_by)
      done.try_emplace(address, Delivery{Outcome::delivered, "has it from an attempt before", std::nullopt});
    std::vector<Part> parts;
    bool answers = true;
    for (const Mailbox& to : envelope_.to) {
      if (const auto before = done.find(to.address); before != done.end()) {
        parts.push_back({to.address, before->second, true});
        continue;
      }
      if (!answers) {
        parts.push_back({to.address, {Outcome::retry, "not tried, since the server does not answer", std::nullopt}});
        continue;
      }
      Delivery part = send_to(to, mail, password, answers);
      const bool is_final = part.outcome == Outcome::delivered || part.outcome == Outcome::dead;
      if (is_final) progress_.note(message, to.address, part);
      if (part.outcome == Outcome::delivered) tell_taken(message, to.address);
      parts.push_back({to.address, std::move(part)});
    }
    return together(parts);
  }

  /// At once: whoever has it must not be forgotten if the program ends before the others are done with.
  void tell_taken(const Message& message, const std::string& address) const {
    if (!taken_ || envelope_.to.size() < 2) return;
    std::vector<std::string> ids;
    for (const NoticeRecord& one : message.notices) ids.push_back(one.id);
    taken_(ids, address);
  }

  /// The channel's time belongs to each recipient. `answers`: the server has said anything at all.
  [[nodiscard]] Delivery send_to(const Mailbox& to, const std::string& mail, const std::string& password,
                                 bool& answers) const {
    Transfer transfer{mail, &may_send_, {}};
    CurlHandle curl;
    curl.set_common(settings_.url, "smtp,smtps", settings_.timeout, settings_.ca_file, "");
    curl.set(CURLOPT_USE_SSL, static_cast<long>(clear_ ? CURLUSESSL_NONE : CURLUSESSL_ALL));
    if (!settings_.user.empty()) {
      curl.set(CURLOPT_USERNAME, settings_.user.c_str());
      curl.set(CURLOPT_PASSWORD, password.c_str());
    }
    curl.set(CURLOPT_MAIL_FROM, ("<" + envelope_.from.address + ">").c_str());
    curl.set_list(CURLOPT_MAIL_RCPT, {"<" + to.address + ">"});
    curl.set(CURLOPT_UPLOAD, 1L);
    curl.set(CURLOPT_INFILESIZE_LARGE, static_cast<curl_off_t>(mail.size()));
    curl.set(CURLOPT_READFUNCTION, &give);
    curl.set(CURLOPT_READDATA, &transfer);
    curl.set(CURLOPT_VERBOSE, 1L);
    curl.set(CURLOPT_DEBUGFUNCTION, &listen);
    curl.set(CURLOPT_DEBUGDATA, &transfer);
    std::string words;
    transfer.talk.finished = curl.perform(words) == CURLE_OK;
    transfer.talk.trouble = transfer.talk.finished ? std::string() : words;
    answers = transfer.talk.code != 0;
    return judge(transfer.talk);
  }

  ChannelSettings settings_;
  Envelope envelope_;
  std::function<Result<Secret>(const SecretSource&)> secret_;
  std::function<void(const std::vector<std::string>&, const std::string&)> taken_;
  bool clear_;
  std::function<bool()> may_send_;
  Progress progress_;
};

Result<Envelope> envelope_of(const ChannelSettings& settings) {
  Envelope envelope;
  const bool only_files = settings.url.empty();
  const Result<Mailbox> from =
      parse_mailbox(only_files && settings.from.empty() ? "Brimwatch <brimwatch@localhost>" : settings.from);
  if (!from) return fail("from: " + from.error().text);
  envelope.from = *from;
  std::vector<std::string> to = settings.to;
  if (only_files && to.empty()) to.push_back(envelope.from.address);
  for (const std::string& text : to) {
    const Result<Mailbox> mailbox = parse_mailbox(text);
    if (!mailbox) return fail("to: " + mailbox.error().text);
    envelope.to.push_back(*mailbox);
  }
  if (envelope.to.empty() || envelope.to.size() > 20) {
    return fail("to: found " + std::to_string(envelope.to.size()) + " addresses, expected 1 to 20");
  }
  return envelope;
}

}  // namespace

Result<std::unique_ptr<Channel>> make_email(const ChannelSettings& settings, const ChannelContext& context) {
  const Result<Envelope> envelope = envelope_of(settings);
  if (!envelope) return tl::unexpected(envelope.error());
  if (!settings.write_to.empty()) return std::make_unique<Email>(settings, *envelope, context, false);
  const Result<UrlParts> url = parse_url(settings.url);
  if (!url) return tl::unexpected(url.error());
  if (url->scheme != "smtp" && url->scheme != "smtps") {
    return fail("url: found scheme " + clean_line(url->scheme, 20) + ", expected smtp:// (STARTTLS) or smtps://");
  }
  if (settings.insecure_loopback && !url->loopback) {
    return fail("insecure_loopback: found host " + clean_line(url->host, 60) + ", allowed for 127.0.0.1 and [::1] alone");
  }
  if (settings.user.find_first_of(std::string("\r\n\0", 3)) != std::string::npos) {
    return fail("user: found a line end in it, expected a name");
  }
  return std::make_unique<Email>(settings, *envelope, context, settings.insecure_loopback && url->scheme == "smtp");
}

}  // namespace brimwatch
