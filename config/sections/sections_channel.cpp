// The keys of a channel.
#include <array>

#include "config/sections/sections.h"
#include "config/sections/shapes.h"

namespace brimwatch {
namespace sections {
namespace {

constexpr std::array<std::string_view, 7> kChannelKinds{"console", "desktop", "email", "webhook",
                                                        "command", "push",    "mqtt"};
constexpr std::array<std::string_view, 3> kMethods{"POST", "PUT", "PATCH"};
constexpr std::array<std::string_view, kNoticeKinds> kNotices{
    "crossed",    "opened-over", "volume-arrived", "volume-faded", "left-range",  "back-inside",
    "fell-under", "loss-limit",  "halted",         "resumed",      "feed-silent", "feed-late",
    "feed-back",  "corrected",   "day-end",        "self-check",   "gain"};
constexpr std::array<std::string_view, 4> kWeights{"unknown", "light", "unsettled", "heavy"};

template <int QuietHours::*Minute>
bool set_minute(QuietHours& into, const Value& value, const Shape& shape, Reading& reading) {
  std::string time;
  if (!read(time, value, shape, reading)) return false;
  into.*Minute = *minutes_of(time);
  return true;
}

constexpr Key<QuietHours> kQuiet[] = {
    {{"from", clock(), "When the quiet begins"}, set_minute<&QuietHours::from_minute>},
    {{"to", clock(), "When it ends; earlier than from: the next morning"}, set_minute<&QuietHours::to_minute>},
    {{"zone", zone(), "Time zone of both; without it, the system's"}, set<QuietHours, &QuietHours::zone>},
    {{"urgent_passes", boolean(), "Notices about prices come through"}, set<QuietHours, &QuietHours::urgent_passes>},
};

std::vector<KeyInfo> quiet_infos() { return infos(std::span<const Key<QuietHours>>(kQuiet)); }

bool set_quiet(ChannelSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  Seen seen;
  if (!read_table(into.quiet, value, std::span<const Key<QuietHours>>(kQuiet), reading, &seen)) return false;
  reading.key = "quiet";
  if (seen.has("from") && seen.has("to")) return true;
  return reading.tell(value.place,
                      "found no \"" + std::string(seen.has("from") ? "to" : "from") + "\", expected both from and to");
}

constexpr Key<ChannelSettings> kChannel[] = {
    {{"name", text(64), "Its name in the journal; without it, its kind"}, set<ChannelSettings, &ChannelSettings::name>},
    {{"kind", word(kChannelKinds), "What kind of channel it is"}, set_needed<ChannelSettings, &ChannelSettings::kind>},
    {{"enabled", boolean(), "false: as if it were not there"}, set<ChannelSettings, &ChannelSettings::enabled>},
    {{"kinds", words(kNotices), "Notices it carries; without it, all"}, set<ChannelSettings, &ChannelSettings::kinds>},
    {{"weights", words(kWeights), "Judgements of volume it carries; without it, all"},
     set<ChannelSettings, &ChannelSettings::weights>},
    {{"quiet", table(quiet_infos), "Hours in which notices wait"}, set_quiet},
    {{"per_minute", count(1, 10'000), "Messages a minute; the rest goes into a digest"},
     set<ChannelSettings, &ChannelSettings::per_minute>},
    {{"until_acknowledged", boolean(), "Repeat crossings until you acknowledge them"},
     set<ChannelSettings, &ChannelSettings::until_acknowledged>},
    {{"repeat_every", seconds(kUnit, 86'400 * kUnit), "Seconds between repeats"},
     set<ChannelSettings, &ChannelSettings::repeat_every>},
    {{"timeout", seconds(kUnit, 600 * kUnit), "Seconds that one attempt may take"},
     set<ChannelSettings, &ChannelSettings::timeout>},
    {{"expire_urgent", seconds(kUnit, 86'400 * kUnit),
      "Age in seconds at which a notice about a price is not sent any more"},
     set<ChannelSettings, &ChannelSettings::expire_urgent>},
    {{"url", url(), "smtp://host:587 (STARTTLS), smtps://host:465, https://... of a webhook, or mqtts://host",
      "email webhook mqtt"},
     set<ChannelSettings, &ChannelSettings::url>},
    {{"user", text(256), "Name to log in with", "email mqtt"}, set<ChannelSettings, &ChannelSettings::user>},
    {{"password", secret(), "Where the password comes from", "email mqtt"},
     set<ChannelSettings, &ChannelSettings::secret>},
    {{"secret", secret(), "Where the signing secret comes from, or with body what {secret} stands for", "webhook"},
     set<ChannelSettings, &ChannelSettings::secret>},
    {{"from", text(256), "Sender", "email"}, set<ChannelSettings, &ChannelSettings::from>},
    {{"to", texts(), "Recipients", "email"}, set<ChannelSettings, &ChannelSettings::to>},
    {{"page_url", url(), "The page as you reach it; mails then carry links by which a notice can be answered", "email"},
     set<ChannelSettings, &ChannelSettings::page_url>},
    {{"write_to", path(), "Folder to write the mails into (.eml) in place of sending them", "email"},
     set<ChannelSettings, &ChannelSettings::write_to>},
    {{"picture", boolean(), "Put the day's picture into the message", "email desktop"},
     set<ChannelSettings, &ChannelSettings::picture>},
    {{"proxy", url(), "HTTP proxy; the environment's is not used", "webhook push"},
     set<ChannelSettings, &ChannelSettings::proxy>},
    {{"ca_file", path(), "Certificates to trust, in place of the system's", "email webhook push mqtt"},
     set<ChannelSettings, &ChannelSettings::ca_file>},
    {{"insecure_loopback", boolean(), "Allow an unencrypted connection to this machine itself",
      "email webhook push mqtt"},
     set<ChannelSettings, &ChannelSettings::insecure_loopback>},
    {{"method", word(kMethods), "With body: the request's method", "webhook"},
     set<ChannelSettings, &ChannelSettings::method>},
    {{"headers", headers(), "With body: headers beside the usual; {secret} stands for the secret", "webhook"},
     set<ChannelSettings, &ChannelSettings::headers>},
    {{"body", lines(), "What is sent in place of the signed event: {title}, {text}, {symbol} and the like are filled in",
      "webhook mqtt"},
     set<ChannelSettings, &ChannelSettings::body>},
    {{"body_part", text(64), "With picture_part: the part that holds the body", "webhook"},
     set<ChannelSettings, &ChannelSettings::body_part>},
    {{"picture_part", text(64), "Send the picture too, as this part of a multipart/form-data", "webhook"},
     set<ChannelSettings, &ChannelSettings::picture_part>},
    {{"success_status", texts(), "Answers that mean it arrived: \"204\", \"2xx\"; without it, 2xx", "webhook"},
     set<ChannelSettings, &ChannelSettings::success_status>},
    {{"success_at", pointer(), "JSON Pointer to what in the answer says that it arrived", "webhook"},
     set<ChannelSettings, &ChannelSettings::success_at>},
    {{"success_equals", text(256), "The value expected there", "webhook"},
     set<ChannelSettings, &ChannelSettings::success_equals>},
    {{"contact", text(256), "Contact for the push service: mailto:me@example.org, or the https address of a page",
      "push"},
     set<ChannelSettings, &ChannelSettings::contact>},
    {{"topic", text(256), "Where it is published; {symbol}, {kind} and the like are filled in", "mqtt"},
     set<ChannelSettings, &ChannelSettings::topic>},
    {{"qos", count(0, 2), "Quality of service", "mqtt"}, set<ChannelSettings, &ChannelSettings::qos>},
    {{"retain", boolean(), "The broker keeps the last one of each topic", "mqtt"},
     set<ChannelSettings, &ChannelSettings::retain>},
    {{"command", texts(), "Program and arguments; it gets the notice as JSON on standard input", "command"},
     set<ChannelSettings, &ChannelSettings::command>},
    {{"environment", texts(), "Variables that its program gets besides PATH, HOME and the like", "command"},
     set<ChannelSettings, &ChannelSettings::environment>},
};

}  // namespace
}  // namespace sections

std::span<const Key<ChannelSettings>> channel_keys() { return sections::kChannel; }

}  // namespace brimwatch
