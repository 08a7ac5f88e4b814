#include <array>

#include "config/checks/checks.h"

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, 2> kMail{"smtps", "smtp"};
constexpr std::array<std::string_view, 2> kBroker{"mqtts", "mqtt"};

bool is_mail_address(std::string_view text) {
  const std::size_t at = text.rfind('@');
  return at != std::string_view::npos && at > 0 && at + 1 < text.size();
}

bool check_mail_addresses(const ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  constexpr std::string_view kSuch = "an address such as \"me@example.org\"";
  bool good = true;
  reading.key = "from";
  if (!channel.from.empty() && !is_mail_address(channel.from)) {
    good = reading.refuse(seen.at("from", table), in_quotes(channel.from), kSuch);
  }
  reading.key = "to";
  for (const std::string& to : channel.to) {
    if (!is_mail_address(to)) good = reading.refuse(seen.at("to", table), in_quotes(to), kSuch);
  }
  return good;
}

/// smtp:// begins unencrypted and must change to TLS before anything is said, so it needs no leave here.
bool check_email(ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  bool good = check_mail_addresses(channel, seen, table, reading);
  if (!channel.write_to.empty()) {
    if (channel.from.empty()) channel.from = "brimwatch@localhost";
    if (channel.to.empty()) channel.to = {"brimwatch@localhost"};
    return good;
  }
  good =
      check_needed("url", "\"smtp://host:587\", \"smtps://host:465\", or write_to with a folder", seen, table, reading) &&
      good;
  good = check_needed("from", "the sender's address", seen, table, reading) && good;
  good = check_needed("to", "the receiver's address", seen, table, reading) && good;
  if (!channel.url.empty()) {
    reading.key = "url";
    good = check_address(channel.url, {kMail, "", channel.insecure_loopback}, seen.at("url", table), reading) && good;
  }
  if (seen.has("user") != seen.has("password")) {
    reading.key = seen.has("user") ? "password" : "user";
    good = reading.tell(table, "found none, expected both user and password, or neither");
  }
  return good;
}

bool check_webhook(const ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  const bool good = check_needed("url", "an address such as \"https://host/path\"", seen, table, reading);
  if (channel.url.empty()) return good;
  reading.key = "url";
  return check_address(channel.url, {kWebSchemes, "http", channel.insecure_loopback}, seen.at("url", table), reading) &&
         good;
}

/// Keys that say nothing without another one.
bool goes_with(std::string_view key, std::string_view other, const Seen& seen, Reading& reading) {
  const Place* place = seen.find(key);
  if (place == nullptr || seen.has(other)) return true;
  reading.key = key;
  return reading.tell(*place, "found it without " + std::string(other) + ", expected both or neither");
}

bool check_form(const ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  bool good = true;
  for (const std::string_view key : {"method", "headers", "picture_part", "success_status", "success_at"})
    good = goes_with(key, "body", seen, reading) && good;
  good = goes_with("body_part", "picture_part", seen, reading) && goes_with("picture_part", "body_part", seen, reading) &&
         good;
  good = goes_with("success_equals", "success_at", seen, reading) && good;
  reading.key = "success_status";
  for (const std::string& status : channel.success_status) {
    const bool fine = status.size() == 3 && status[0] >= '2' && status[0] <= '5' &&
                      (status.substr(1) == "xx" || status.find_first_not_of("0123456789") == std::string::npos);
    if (!fine)
      good = reading.refuse(seen.at("success_status", table), in_quotes(status), "\"2xx\", or a status such as \"204\"");
  }
  return good;
}

bool check_mqtt(const ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  bool good = check_needed("url", "a broker such as \"mqtts://host:8883\"", seen, table, reading);
  good = check_needed("topic", "a topic such as \"brimwatch/{symbol}\"", seen, table, reading) && good;
  reading.key = "topic";
  if (channel.topic.find_first_of("+#") != std::string::npos)
    good = reading.refuse(seen.at("topic", table), in_quotes(channel.topic), "one topic to publish to, without + and #");
  if (seen.has("password")) good = goes_with("password", "user", seen, reading) && good;
  if (channel.url.empty()) return good;
  reading.key = "url";
  return check_address(channel.url, {kBroker, "mqtt", channel.insecure_loopback}, seen.at("url", table), reading) && good;
}

bool check_push(const ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  if (!check_needed("contact", "whom a push service can write to, such as \"mailto:me@example.org\"", seen, table,
                    reading))
    return false;
  const bool fine = (channel.contact.starts_with("mailto:") && is_mail_address(channel.contact.substr(7))) ||
                    (channel.contact.starts_with("https://") && channel.contact.size() > 8);
  reading.key = "contact";
  return fine || reading.refuse(seen.at("contact", table), in_quotes(channel.contact),
                                "\"mailto:\" and an address, or \"https://\" and a page");
}

}  // namespace

bool check_channel(ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  if (!check_needed("kind", "\"console\", \"desktop\", \"email\", \"webhook\", \"command\", \"push\" or \"mqtt\"", seen,
                    table, reading))
    return false;
  if (channel.name.empty()) channel.name = channel.kind;
  const bool good = check_only_for(infos(channel_keys()), channel.kind, seen, reading);
  if (channel.kind == "email") return check_email(channel, seen, table, reading) && good;
  if (channel.kind == "webhook")
    return check_webhook(channel, seen, table, reading) && check_form(channel, seen, table, reading) && good;
  if (channel.kind == "push") return check_push(channel, seen, table, reading) && good;
  if (channel.kind == "mqtt") return check_mqtt(channel, seen, table, reading) && good;
  if (channel.kind == "command")
    return check_needed("command", "program and arguments such as [\"notify\", \"--now\"]", seen, table, reading) && good;
  return good;
}

}  // namespace brimwatch
