#include <array>

#include "config/checks.h"

namespace brimwatch {
namespace {

constexpr std::array<std::string_view, 2> kMail{"smtps", "smtp"};
constexpr std::array<std::string_view, 2> kWeb{"https", "http"};

bool need(std::string_view key, std::string_view such, const Seen& seen, const Place& table, Reading& reading) {
  if (seen.has(key)) return true;
  reading.key = key;
  return reading.tell(table, std::string("found none, expected ").append(such));
}

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
      need("url", "\"smtp://host:587\", \"smtps://host:465\", or write_to with a folder", seen, table, reading) && good;
  good = need("from", "the sender's address", seen, table, reading) && good;
  good = need("to", "the receiver's address", seen, table, reading) && good;
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
  const bool good = need("url", "an address such as \"https://host/path\"", seen, table, reading);
  if (channel.url.empty()) return good;
  reading.key = "url";
  return check_address(channel.url, {kWeb, "http", channel.insecure_loopback}, seen.at("url", table), reading) && good;
}

}  // namespace

bool check_channel(ChannelSettings& channel, const Seen& seen, const Place& table, Reading& reading) {
  if (!need("kind", "\"console\", \"desktop\", \"email\", \"webhook\" or \"command\"", seen, table, reading))
    return false;
  if (channel.name.empty()) channel.name = channel.kind;
  const bool good = check_only_for(infos(channel_keys()), channel.kind, seen, reading);
  if (channel.kind == "email") return check_email(channel, seen, table, reading) && good;
  if (channel.kind == "webhook") return check_webhook(channel, seen, table, reading) && good;
  if (channel.kind == "command")
    return need("command", "program and arguments such as [\"notify\", \"--now\"]", seen, table, reading) && good;
  return good;
}

}  // namespace brimwatch
