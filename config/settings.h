#pragma once
// Everything the program reads from its configuration, resolved and checked: plain values, defaults filled in, paths
// absolute. Produced by loader.h; old and new are compared field by field on reload.
#include <chrono>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "config/history_settings.h"
#include "config/prepare_rules.h"
#include "config/secret_source.h"
#include "core/notice.h"
#include "core/tick.h"
#include "core/watch_list.h"

namespace brimwatch {

struct SessionSettings {
  std::string calendar = "XNYS";            ///< MIC of watches that name none
  std::vector<std::string> calendar_files;  ///< the user's own days, added to the built-in calendars
  bool extended_volume = false;             ///< volume outside regular hours counts in the day's volume
  DayVolumeIncludes day_volume_includes = DayVolumeIncludes::unknown;  ///< what sources count as the day's volume

  bool operator==(const SessionSettings&) const = default;
};

struct MarketSettings {
  Trend trend = Trend::unknown;  ///< as set by the user; unknown: from `index`, or not said
  std::string index;             ///< daily bars of an index (file), empty when none
  WhenDown when_down = WhenDown::mark;

  bool operator==(const MarketSettings&) const = default;
};

/// JSON Pointers (RFC 6901) into one message; empty when the source has no such field. "frame:/pointer" looks in the
/// whole frame around the messages; the word "key" as symbol takes the member's name, where `messages` points to an
/// object with one member a symbol; the word "event" is the name of a server-sent event.
struct FieldMap {
  std::string symbol, price, size, time, conditions, exchange, id, kind, day_volume, bid, ask, bid_size, ask_size, status;
  std::string odd_lot;  ///< a flag: true, a number that is not 0, "Y"
  std::string sequence;
  std::string low, high;            ///< of a bar; price is its close, size its volume, time its end
  std::string old_price, old_size;  ///< of a correction: what is replaced
  std::string number;               ///< of a naming: the number that stands for `symbol` from then on
  std::string time_format;          ///< rfc3339 | s | ms | us | ns; empty: rfc3339, or as in `fields`
  std::string messages;             ///< pointer to an array of messages inside a frame; empty: frame is one, or an array

  bool operator==(const FieldMap&) const = default;
};

/// "A message whose value at `at` equals `equals` is of this kind" (trade, quote, cancel, correct, status, bar, day,
/// naming, ignore, accepted, refused).
struct MessageRule {
  std::string at, equals, kind;

  bool operator==(const MessageRule&) const = default;
};

/// "A message whose value at `at` equals `equals` is answered with `send`": {value} stands for what was there, as JSON.
struct SourceReply {
  std::string at, equals, send;

  bool operator==(const SourceReply&) const = default;
};

struct FeedSettings {
  std::string name = "feed";
  std::string kind = "tape";             ///< tape | pipe | stream | poll | events
  std::string file;                      ///< tape: path
  std::vector<std::string> command;      ///< pipe: argv; empty: standard input
  std::vector<std::string> environment;  ///< pipe: names of variables of ours that the program gets beside the usual
  std::string url;                       ///< stream, poll, events
  std::map<std::string, std::string> headers;  ///< values may hold {secret}
  SecretSource secret;
  std::vector<std::string> hello;  ///< stream: messages after connecting, templates: {secret} {symbols} {symbols_json}
  std::string subscribe, unsubscribe;          ///< stream: one message a batch, templates as above
  int batch = 100;                             ///< symbols a message or request
  std::chrono::milliseconds interval{5000};    ///< poll
  std::chrono::milliseconds keep_alive{5000};  ///< stream: ping interval; dead after three
  std::chrono::seconds silent_after{15};       ///< no message for so long in session: silent
  std::chrono::seconds late_after{60};         ///< data older than this: late
  std::string proxy, ca_file;
  bool insecure_loopback = false;   ///< allow ws:// and http:// to 127.0.0.1 and ::1
  std::string conditions = "none";  ///< cts | utdf | none: the tape whose codes the source uses; none: it has its own
  std::string standby_for;          ///< name of the feed this one stands by for
  bool enabled = true;
  FieldMap fields;
  std::vector<MessageRule> rules;
  std::map<std::string, FieldMap> fields_of;  ///< by kind: only the pointers that differ for messages of that kind
  std::string default_kind = "trade";  ///< kind of a message that neither a rule nor fields.kind tells; "" = unknown
  std::map<std::string, std::string> kind_words, status_words, condition_words, exchange_words;  ///< the source's -> ours
  std::string symbol_form = "{symbol}";             ///< how the source writes a symbol, e.g. "{symbol}.US"
  std::vector<std::string> subscribe_form;          ///< how a symbol is written in what we ask; empty: symbol_form
  std::map<std::string, std::string> symbol_names;  ///< our symbol -> the source's name, where the form does not tell
  std::map<std::string, std::string> symbol_words;  ///< the source's numbers and other names -> our symbol
  std::vector<SourceReply> replies;                 ///< stream: what the source wants answered
  bool columns = false;                             ///< fields are lists side by side
  std::string packing = "none";                     ///< of each frame: none | gzip | deflate | zstd
  std::string encoding = "json";                    ///< json | msgpack
  bool permessage_deflate = false;                  ///< stream: offer RFC 7692's compression
  std::string time_zone;                            ///< IANA name, of times that name none
  int price_decimals = 0;                           ///< so many digits of a whole number stand behind the point
  int lot_size = 1, volume_lot_size = 1;            ///< shares that a size, and the day's volume, count as one
  int odd_lot_below = 0;                        ///< shares; a smaller trade is an odd lot; 0: the source says so itself
  bool sequence_by_symbol = false;              ///< fields.sequence counts up for each symbol, not for the whole feed
  std::string ping;                             ///< stream: a text message sent every keep_alive beside the ping frame
  std::uint64_t frame_bytes_most = 1ULL << 20;  ///< longest message, line or answer taken
  std::chrono::milliseconds connect_timeout{
      5000};             ///< each of connect, TLS, handshake, acceptance; poll: the whole request
  double speed = 1;      ///< tape: 1 = as it was, 0 = as fast as it goes
  double rehearsal = 0;  ///< not 0: the source plays a past day, so many times as fast; ages count in the day's own time
  std::string past_days = "leave-out";  ///< leave-out | tell: what comes of a day that is over (session/past_day.h)

  bool operator==(const FeedSettings&) const = default;
};

struct QuietHours {
  int from_minute = 0, to_minute = 0;  ///< local minutes after midnight; equal: none
  std::string zone;                    ///< IANA name; empty: the system's
  bool urgent_passes = true;

  bool operator==(const QuietHours&) const = default;
};

struct ChannelSettings {
  std::string name;
  std::string kind;               ///< console | desktop | email | webhook | command | push | mqtt
  std::vector<NoticeKind> kinds;  ///< empty: all
  std::vector<Weight> weights;    ///< empty: all
  QuietHours quiet;
  int per_minute = 30;              ///< rate; what is over it goes into a digest
  bool until_acknowledged = false;  ///< repeat crossings until acknowledged
  std::chrono::seconds repeat_every{300};
  std::chrono::seconds timeout{30};         ///< of one attempt
  std::chrono::seconds expire_urgent{900};  ///< a price notice older than this is not sent any more
  // email
  std::string url;  ///< smtp://host:587 (STARTTLS required) or smtps://host:465; webhook: https://...
  std::string user, from;
  std::vector<std::string> to;
  std::string page_url;        ///< email: the page as its user reaches it, for links to answer by; empty: none
  std::string write_to;        ///< directory: write .eml files instead of sending
  std::string proxy, ca_file;  ///< proxy: webhook
  bool insecure_loopback = false;
  SecretSource secret;  ///< password, or the webhook's signing secret
  bool picture = true;
  // webhook with a form of its own; empty body: the signed event
  std::string method = "POST";
  std::map<std::string, std::string> headers;  ///< values are templates; {secret} stands for the secret
  std::string body;                            ///< template
  std::string body_part, picture_part;         ///< parts of multipart/form-data; empty picture_part: the body goes alone
  std::vector<std::string> success_status;     ///< "204" or "2xx"; empty: 2xx
  std::string success_at, success_equals;      ///< JSON Pointer into the answer, and what must stand there
  // push
  std::string contact;  ///< mailto: or https: of whoever answers for what is sent (RFC 8292)
  // mqtt
  std::string topic;  ///< template
  int qos = 1;
  bool retain = false;
  // command
  std::vector<std::string> command;      ///< argv; JSON on standard input
  std::vector<std::string> environment;  ///< names of variables of ours that the program gets beside the usual
  bool enabled = true;

  bool operator==(const ChannelSettings&) const = default;
};

struct RecordSettings {
  std::string directory;  ///< empty: no recording
  bool frames = true, tape = true;
  std::uint64_t bytes_most = 4ULL << 30;  ///< oldest days go first

  bool operator==(const RecordSettings&) const = default;
};

/// How long what the program writes stays, in calendar days; 0: for ever. What is still needed stays however old it is.
struct KeepSettings {
  int notices = 0;         ///< with their deliveries
  int deliveries = 400;    ///< of notices that stay: channels, attempts, replies
  int day_records = 1500;  ///< a stock's day as the feed carried it
  int holes = 400;         ///< of feeds
  int states = 90;         ///< where watches stood on days before; the newest of each stays
  int mails = 400;         ///< files of email channels with write_to

  bool operator==(const KeepSettings&) const = default;
};

struct PageSettings {
  bool on = false;
  int port = 0;
  bool everybody = false;  ///< every user of this machine may read it
  // Beyond this machine, for paired devices alone. Empty listen: not served there.
  std::string listen;            ///< "192.0.2.7:8443", "[::]:8443"
  std::string address;           ///< "https://desk.example.org:8443": what devices ask; no other name is answered to
  std::string certificate, key;  ///< PEM files; empty: in the clear on this machine, behind one's own proxy
  bool operator==(const PageSettings&) const = default;
};

struct LifeSettings {
  std::string morning;  ///< "hh:mm" before the open, exchange time; empty: none
  bool day_end = true;
  std::string heartbeat_url, heartbeat_proxy;
  std::chrono::seconds heartbeat_every{60};
  bool operator==(const LifeSettings&) const = default;
};

/// The day's review, sent after the close.
struct EveningSettings {
  std::string review_at;              ///< "hh:mm", exchange time; empty: none is sent
  std::vector<std::string> channels;  ///< names; empty: every email channel
  int odds_days = 90;                 ///< calendar days whose odds it judges
  bool operator==(const EveningSettings&) const = default;
};

/// Several machines that are one house: one speaks, the others stand by. Off while `house` is empty.
struct SharedSettings {
  std::string name, house;
  std::vector<std::string> etcd;  ///< addresses, https://host:port
  std::string user;
  SecretSource password;
  std::string certificate, key, ca_file;
  bool insecure_loopback = false;
  std::chrono::milliseconds ttl{2000};
  std::string feed = "own";              ///< own | at-takeover: of a member that stands by
  std::chrono::seconds alone_after{60};  ///< 0: a member that stands by never speaks alone
  std::string direct;  ///< where the others ask this member whether it speaks, https://IP:port; empty: nowhere

  [[nodiscard]] bool on() const { return !house.empty(); }
  bool operator==(const SharedSettings&) const = default;
};

struct Settings {
  std::string file;                ///< the main file, absolute
  std::vector<std::string> files;  ///< all that was read, main file first; Watch::file is an index into it
  SessionSettings session;
  Rules rules;  ///< defaults of watches
  MarketSettings market;
  HistorySettings history;
  std::vector<FeedSettings> feeds;
  std::vector<ChannelSettings> channels;
  RecordSettings record;
  KeepSettings keep;
  PageSettings page;
  LifeSettings life;
  EveningSettings evening;
  SharedSettings shared;
  RuleBook prepare;     ///< of the weekend's bases
  std::string journal;  ///< path; empty: the place XDG gives
  std::string log_level = "info";
  std::string log_format = "text";  ///< text | json
  WatchList watches;                ///< in force, in the order of the files; one (symbol, pivot) once
  /// The user's own lists as they were read, where answers have changed what is in force; null: nothing has.
  std::shared_ptr<const WatchList> given;
};

}  // namespace brimwatch
