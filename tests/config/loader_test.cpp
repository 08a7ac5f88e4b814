// The main file: what it sets, and what it says of each mistake, word for word.
#include "config/loader.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include "folder.h"

namespace brimwatch {
namespace {

using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

struct Loader : testing::Test {
  Folder folder;
  Loaded loaded;

  std::vector<std::string> errors_of(const std::string& text, const LoadOptions& options = {}) {
    loaded = load_settings(folder.write("main.toml", text), options);
    return folder.lines(loaded.problems);
  }
};

TEST_F(Loader, reads_every_section) {
  ASSERT_THAT(errors_of(R"(
journal = "j.db"
[session]
calendar = "XTSE"
calendar_files = ["days.toml"]
extended_volume = true
[rules]
range = 4.5
surge = 50
loss = 7.125
odds_heavy = 0.8
per_day = 2
offset = "0.25"
[market]
trend = "down"
when_down = "hold-back"
[history]
daily = "bars"
[record]
directory = "tapes"
most_mib = 10
[page]
on = true
port = 8080
[life]
morning = 09:00:00
heartbeat_every = 30
[evening]
review_at = "18:30"
odds_days = 30
[prepare]
rise_least = 25
rising_volume_least = 1.5
flat_length_least = 30
[log]
level = "debug"
)"),
              IsEmpty());
  const Settings& s = loaded.settings;
  EXPECT_EQ(s.journal, folder.path("j.db"));
  EXPECT_EQ(s.session.calendar, "XTSE");
  EXPECT_THAT(s.session.calendar_files, ElementsAre(folder.path("days.toml")));
  EXPECT_TRUE(s.session.extended_volume);
  EXPECT_EQ(s.rules.range, 4'500'000);
  EXPECT_EQ(s.rules.surge, 50'000'000);
  EXPECT_EQ(s.rules.loss, 7'125'000);
  EXPECT_EQ(s.rules.odds_heavy, 0.8);
  EXPECT_EQ(s.rules.per_day, 2);
  EXPECT_EQ(s.rules.offset, Price{250'000});
  EXPECT_EQ(s.market.trend, Trend::down);
  EXPECT_EQ(s.market.when_down, WhenDown::hold_back);
  EXPECT_EQ(s.history.daily, folder.path("bars"));
  EXPECT_EQ(s.record.bytes_most, 10U << 20);
  EXPECT_TRUE(s.page.on);
  EXPECT_EQ(s.page.port, 8080);
  EXPECT_EQ(s.life.morning, "09:00");
  EXPECT_EQ(s.life.heartbeat_every.count(), 30);
  EXPECT_EQ(s.evening.review_at, "18:30");
  EXPECT_EQ(s.evening.odds_days, 30);
  EXPECT_EQ(s.prepare.rise_least, 25);
  EXPECT_EQ(s.prepare.rising_volume_least, 1.5);
  EXPECT_EQ(s.prepare.flat_length_least, 30);
  EXPECT_EQ(s.prepare.cup_depth_most, RuleBook{}.cup_depth_most);
  EXPECT_EQ(s.log_level, "debug");
}

TEST_F(Loader, rules_of_thumb_are_checked_like_every_key) {
  EXPECT_THAT(
      errors_of("[prepare]\nrise_least = -1\nflat_length_least = 2.5\nrize_least = 3\ntick_size = 0\n"),
      ElementsAre("main.toml:2:14: [prepare]: rise_least: found -1, expected a percentage from 0 to 1000 with at "
                  "most six decimals; nothing was loaded",
                  "main.toml:3:21: [prepare]: flat_length_least: found 2.5, expected a whole number from 5 to 400; "
                  "nothing was loaded",
                  "main.toml:4:1: [prepare]: found the unknown key \"rize_least\"; nearest known key "
                  "\"rise_least\"; nothing was loaded",
                  HasSubstr("main.toml:5:13: [prepare]: tick_size: found 0, expected a number above 0")));
}

TEST_F(Loader, the_evenings_channels_have_to_be_there) {
  EXPECT_THAT(
      errors_of("[evening]\nreview_at = \"18:00\"\nchannels = [\"mail\", \"post\"]\n[[channel]]\nname = "
                "\"mail\"\nkind = \"console\"\n"),
      ElementsAre("main.toml:3:21: [evening]: channels: found \"post\", expected one of mail; nothing was loaded"));
}

TEST_F(Loader, a_file_of_rules_is_laid_over_the_main_file_and_under_a_watchs_own_words) {
  LoadOptions options;
  options.rules = folder.write("strict.toml", "[rules]\nsurge = 60\nodds_heavy = 0.9\n[market]\ntrend = \"down\"\n");
  ASSERT_THAT(errors_of("[rules]\nsurge = 50\nrange = 4\n[[watch]]\nsymbol = \"KLVN\"\npivot = 48.35\nsurge = 70\n"
                        "[[watch]]\nsymbol = \"ORRI\"\npivot = 20\n",
                        options),
              IsEmpty());
  const Settings& s = loaded.settings;
  EXPECT_EQ(s.rules.surge, 60'000'000);
  EXPECT_EQ(s.rules.range, 4'000'000);
  EXPECT_EQ(s.market.trend, Trend::down);
  EXPECT_EQ(s.watches[0].rules.surge, 70'000'000);
  EXPECT_EQ(s.watches[0].rules.odds_heavy, 0.9);
  EXPECT_EQ(s.watches[1].rules.surge, 60'000'000);
}

TEST_F(Loader, a_file_of_rules_says_what_is_wrong_in_it) {
  LoadOptions options;
  options.rules = folder.write("strict.toml", "[rules]\nsurge = -3\n[history]\ndaily = \"bars\"\n");
  EXPECT_THAT(
      errors_of("", options),
      ElementsAre(HasSubstr("strict.toml:2:9: [rules]: surge: found -3"),
                  HasSubstr("strict.toml:3:2: found the unknown key \"history\", expected one of rules, market")));
  options.rules = folder.path("none.toml");
  EXPECT_THAT(errors_of("", options), ElementsAre(HasSubstr("--rules: \"none.toml\": ")));
}

TEST_F(Loader, without_lists_the_main_file_stands_alone) {
  LoadOptions options;
  options.lists = false;
  EXPECT_THAT(errors_of("watch_lists = [\"not-yet.toml\"]\n[prepare]\nkeep_days = 70\n", options), IsEmpty());
  EXPECT_EQ(loaded.settings.prepare.keep_days, 70);
}

TEST_F(Loader, an_empty_file_gives_the_defaults_of_the_trade) {
  // 5 % range, 40 % more volume, 8 % loss limit, ten cents over the peak: common practice.
  ASSERT_THAT(errors_of(""), IsEmpty());
  EXPECT_EQ(loaded.settings.rules, Rules{});
  EXPECT_EQ(loaded.settings.rules.range, 5'000'000);
  EXPECT_EQ(loaded.settings.rules.surge, 40'000'000);
  EXPECT_EQ(loaded.settings.rules.loss, 8'000'000);
  EXPECT_EQ(loaded.settings.rules.offset, Price{100'000});
}

TEST_F(Loader, tells_all_errors_at_once_with_their_places) {
  EXPECT_THAT(
      errors_of("journl = \"x\"\n"
                "surge = 3\n"
                "[session]\n"
                "calendar = \"New York\"\n"
                "[rules]\n"
                "sruge = 40\n"
                "range = 0\n"
                "per_day = 2.5\n"
                "[market]\n"
                "trend = \"upp\"\n"),
      ElementsAre(
          "main.toml:1:1: found the unknown key \"journl\"; nearest known key \"journal\"; nothing was loaded",
          "main.toml:2:1: found the unknown key \"surge\"; it belongs in [rules]; nothing was loaded",
          "main.toml:4:12: [session]: calendar: found \"New York\", expected an exchange's four characters (ISO 10383) "
          "such as \"XNYS\"; nothing was loaded",
          "main.toml:6:1: [rules]: found the unknown key \"sruge\"; nearest known key \"surge\"; nothing was loaded",
          "main.toml:7:9: [rules]: range: found 0, expected a percentage above 0 and at most 100 with at most six "
          "decimals; nothing was loaded",
          "main.toml:8:11: [rules]: per_day: found 2.5, expected a whole number from 1 to 100; nothing was loaded",
          "main.toml:10:9: [market]: trend: found \"upp\", expected \"up\", \"mixed\" or \"down\"; nearest known word "
          "\"up\"; nothing was loaded"));
}

TEST_F(Loader, a_decimal_comma_is_explained) {
  EXPECT_THAT(errors_of("[[watch]]\nsymbol = \"KLVN\"\npivot = 48,35\n"),
              ElementsAre("main.toml:3:9: found 48,35, expected a point for the decimals: 48.35; nothing was loaded"));
  EXPECT_THAT(errors_of("[[watch]]\nsymbol = \"KLVN\"\npivot = \"48,35\"\n"),
              ElementsAre("main.toml:3:9: watch \"KLVN\": pivot: found \"48,35\", expected a point for the decimals: "
                          "48.35; nothing was loaded"));
}

TEST_F(Loader, a_missing_file_says_how_to_make_one) {
  const Loaded none = load_settings(folder.path("none.toml"));
  EXPECT_THAT(
      folder.lines(none.problems),
      ElementsAre("none.toml: found no such file; nothing was loaded; \"brimwatch init\" writes a first configuration"));
}

TEST_F(Loader, a_folder_or_pipe_in_place_of_the_file_is_refused_at_once) {
  EXPECT_THAT(folder.lines(load_settings(folder.path()).problems),
              ElementsAre(folder.path() + ": found something that is not a file, expected a file; nothing was loaded; "
                                          "\"brimwatch init\" writes a first configuration"));
}

TEST_F(Loader, odds_have_to_leave_room_between_them) {
  EXPECT_THAT(
      errors_of("[rules]\nodds_light = 0.7\n"),
      ElementsAre("main.toml:2:1: [rules]: odds_light: found odds_light 0.70 and odds_heavy 0.70, expected odds_light "
                  "below odds_heavy; nothing was loaded"));
}

TEST_F(Loader, bad_rules_of_the_main_file_are_not_told_again_for_each_watch) {
  EXPECT_THAT(errors_of("[rules]\nodds_light = 0.7\n[[watch]]\nsymbol = \"KLVN\"\npivot = 1\nrange = 2\n"),
              testing::SizeIs(1));
}

TEST_F(Loader, the_loss_limit_is_not_above_the_slip_level) {
  EXPECT_THAT(
      errors_of("[rules]\nloss = 0.5\n"),
      ElementsAre("main.toml:2:1: [rules]: loss: found loss 0.5 and slip 1, expected loss at least as large as slip; "
                  "nothing was loaded"));
}

TEST_F(Loader, a_calendar_that_nobody_has_is_told) {
  EXPECT_THAT(
      errors_of("[session]\ncalendar = \"XNYZ\"\n", {{"XNYS", "XTKS"}}),
      ElementsAre("main.toml:2:12: calendar: found \"XNYZ\", expected one of XNYS, XTKS, or calendar_files; nothing was "
                  "loaded"));
}

TEST_F(Loader, reads_a_stream_feed) {
  ASSERT_THAT(
      errors_of(R"([[feed]]
name = "main"
kind = "stream"
url = "wss://quotes.example.org/v1"
secret = { env = "KEY" }
headers = { Authorization = "Bearer {secret}" }
hello = ['{"a":1}']
subscribe = '''
{"s":{symbols_json}}'''
interval = 2
)"),
      ElementsAre(
          "main.toml:1:1: feed \"main\": fields: found none, expected a table of JSON Pointers such as { symbol = "
          "\"/s\", price = \"/p\" }; nothing was loaded",
          "main.toml:10:1: feed \"main\": interval: found a key of the kind \"poll\", expected none in the kind "
          "\"stream\"; nothing was loaded"));
  ASSERT_THAT(errors_of(R"([feed]
kind = "stream"
url = "ws://127.0.0.1:9000/v1"
insecure_loopback = true
secret = { file = "~/key" }
keep_alive = 2.5
frame_kib = 4
fields = { symbol = "/s", price = "frame:/p~1q", time_format = "ms" }
fields_of.quote = { time = "/qt" }
rules = [{ at = "/T", equals = "t", kind = "trade" }]
)"),
              IsEmpty());
  const FeedSettings& feed = loaded.settings.feeds.at(0);
  EXPECT_EQ(feed.secret.kind, SecretSource::Kind::file);
  EXPECT_EQ(feed.keep_alive.count(), 2500);
  EXPECT_EQ(feed.frame_bytes_most, 4096U);
  EXPECT_EQ(feed.fields.price, "frame:/p~1q");
  EXPECT_EQ(feed.fields_of.at("quote").time, "/qt");
  EXPECT_EQ(feed.rules.at(0), (MessageRule{"/T", "t", "trade"}));
}

TEST_F(Loader, a_pipe_takes_the_names_of_the_tape_unless_told_otherwise) {
  ASSERT_THAT(errors_of("[feed]\nkind = \"pipe\"\n"), IsEmpty());
  EXPECT_EQ(loaded.settings.feeds.at(0).fields.symbol, "/symbol");
  ASSERT_THAT(errors_of("[feed]\nkind = \"pipe\"\nfields = { symbol = \"/s\" }\n"), IsEmpty());
  EXPECT_EQ(loaded.settings.feeds.at(0).fields.price, "");
}

TEST_F(Loader, a_feed_says_what_is_wrong_in_it) {
  EXPECT_THAT(
      errors_of(R"([[feed]]
kind = "stream"
url = "ws://quotes.example.org"
fields = { symbol = "s", prise = "/p" }
[[feed]]
kind = "poll"
url = "https://me:pw@quotes.example.org/"
fields = { price = "/p" }
standby_for = "other"
[[feed]]
name = "x"
)"),
      ElementsAre(
          "main.toml:3:1: feed \"stream\": url: found an unencrypted address, \"ws://quotes.example.org\", expected "
          "\"wss://\"; unencrypted only to 127.0.0.1 or [::1], with insecure_loopback = true; nothing was loaded",
          "main.toml:4:1: feed \"stream\": fields: found no symbol, expected a JSON Pointer such as symbol = "
          "\"/s\"; nothing was loaded",
          "main.toml:4:21: feed \"stream\": symbol: found \"s\", expected a JSON Pointer such as \"/data/price\"; "
          "nothing was loaded",
          "main.toml:4:26: feed \"stream\": found the unknown key \"prise\"; nearest known key \"price\"; nothing "
          "was loaded",
          "main.toml:7:1: feed \"poll\": url: found a name or password in the address, expected none: use a "
          "secret; nothing was loaded",
          "main.toml:8:1: feed \"poll\": fields: found no symbol, expected a JSON Pointer such as symbol = "
          "\"/s\"; nothing was loaded",
          "main.toml:10:1: feed \"x\": kind: found none, expected \"tape\", \"pipe\", \"stream\", \"poll\" or "
          "\"events\"; nothing "
          "was loaded"));
}

TEST_F(Loader, two_feeds_have_two_names_and_a_standby_has_a_feed) {
  EXPECT_THAT(
      errors_of("[[feed]]\nkind = \"pipe\"\nstandby_for = \"nobody\"\n[[feed]]\nkind = \"pipe\"\n"),
      ElementsAre(
          "main.toml:3:1: feed \"feed\": standby_for: found \"nobody\", expected the name of another feed; nothing "
          "was loaded",
          "main.toml:4:1: feed \"pipe\": name: found \"feed\" a second time, expected a name of its own for each; "
          "nothing was loaded"));
}

// A feed that is refused for something else does not move where the next one's fault is said to be.
TEST_F(Loader, a_standbys_fault_stands_where_it_is_written) {
  EXPECT_THAT(errors_of("[[feed]]\nkind = \"x\"\n[[feed]]\nname = \"b\"\nkind = \"pipe\"\nstandby_for = \"nobody\"\n"),
              Contains(testing::StartsWith("main.toml:6:1: feed \"b\": standby_for: found \"nobody\"")));
}

TEST_F(Loader, reads_channels) {
  ASSERT_THAT(errors_of(R"([[channel]]
kind = "email"
url = "smtp://mail.example.org:587"
user = "me"
password = { credential = "mail" }
from = "Brimwatch <me@example.org>"
to = "you@example.org"
kinds = ["crossed", "fell-under"]
weights = ["heavy"]
quiet = { from = "22:30", to = "07:00", zone = "Europe/Berlin", urgent_passes = false }
[[channel]]
kind = "email"
name = "drafts"
write_to = "mails"
)"),
              IsEmpty());
  const ChannelSettings& mail = loaded.settings.channels.at(0);
  EXPECT_EQ(mail.name, "email");
  EXPECT_EQ(mail.secret, (SecretSource{SecretSource::Kind::credential, "mail"}));
  EXPECT_THAT(mail.kinds, ElementsAre(NoticeKind::crossed, NoticeKind::fell_under));
  EXPECT_THAT(mail.weights, ElementsAre(Weight::heavy));
  EXPECT_EQ(mail.quiet, (QuietHours{22 * 60 + 30, 7 * 60, "Europe/Berlin", false}));
  EXPECT_EQ(loaded.settings.channels.at(1).write_to, folder.path("mails"));
  EXPECT_THAT(loaded.settings.channels.at(1).from, HasSubstr("@"));
}

/// A database of time zones as far as names go.
std::string zones_in(const Folder& folder) {
  std::filesystem::create_directories(folder.path("zones/Europe"));
  std::filesystem::create_directories(folder.path("zones/posix/Europe"));
  for (const char* name :
       {"zones/Europe/Berlin", "zones/Europe/London", "zones/UTC", "zones/posix/Europe/Paris", "zones/Europe.tab"})
    folder.write(name, "");
  return folder.path("zones");
}

std::string quiet_in(const std::string& zone) {
  return "[[channel]]\nkind = \"console\"\nquiet = { from = \"21:00\", to = \"22:00\", zone = \"" + zone + "\" }\n";
}

TEST_F(Loader, refuses_a_time_zone_that_is_none_with_the_nearest_that_is_one) {
  LoadOptions options;
  options.zones = zones_in(folder);
  const std::string at = "main.toml:3:48: channel \"console\": zone: found ";
  const std::string wanted = ", expected the name of a time zone";
  const auto refused = [&](const std::string& zone, const std::string& near) {
    const std::string hint = near.empty() ? "" : "; nearest known name \"" + near + "\"";
    EXPECT_THAT(errors_of(quiet_in(zone), options),
                ElementsAre(at + "\"" + zone + "\"" + wanted + hint + "; nothing was loaded"));
  };
  refused("Europe/Berlon", "Europe/Berlin");
  refused("europe/london", "Europe/London");
  refused("Berlin", "Europe/Berlin");
  refused("Nowhere", "");
  refused("posix/Europe/Paris", "");
  refused("../zones/UTC", "");
  refused("Europe", "");
  for (const char* zone : {"Europe/Berlin", "UTC", ""})
    EXPECT_THAT(errors_of(quiet_in(zone), options), IsEmpty()) << zone;
}

TEST_F(Loader, without_a_database_of_time_zones_any_name_goes_and_that_is_said_once) {
  LoadOptions options;
  options.zones = folder.path("nothing-here");
  const std::string second = "[[channel]]\nname = \"b\"\n" + quiet_in("Europe/Berlon").substr(12);
  EXPECT_THAT(errors_of(quiet_in("Europe/Berlin") + second, options), IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings),
              testing::Contains(HasSubstr("this machine has no time zone database")).Times(1));
}

TEST_F(Loader, refuses_a_sign_of_life_that_is_no_web_address) {
  EXPECT_THAT(errors_of("[life]\nheartbeat_url = \"ftp://x\"\n"),
              ElementsAre("main.toml:2:1: [life]: heartbeat_url: found \"ftp://\", expected https://host or http://host; "
                          "nothing was loaded"));
  EXPECT_THAT(errors_of("[life]\nheartbeat_url = \"http://127.0.0.1:9/x\"\n"), IsEmpty());
}

TEST_F(Loader, says_of_every_file_that_is_named_what_run_would_miss) {
  folder.write("open.key", "s3cret\n");
  std::filesystem::permissions(folder.path("open.key"), std::filesystem::perms(0644));
  const std::string text =
      "[history]\ndaily = \"bars\"\nsplits = \"s.csv\"\nearnings = \"e.csv\"\n"
      "[[feed]]\nkind = \"tape\"\nfile = \"day.csv\"\n"
      "[[channel]]\nkind = \"webhook\"\nurl = \"https://h.example.org\"\nsecret = { file = \"open.key\" }\n"
      "[[watch]]\nsymbol = \"KLVN\"\npivot = 1\n";
  LoadOptions options;
  EXPECT_THAT(errors_of(text, options), IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings), IsEmpty()) << "only where it is asked for";
  options.files = true;
  EXPECT_THAT(errors_of(text, options), IsEmpty());
  EXPECT_THAT(
      folder.lines(loaded.warnings),
      ElementsAre("main.toml:2:9: [history]: daily: there is no directory \"bars\"; normal volumes come from the watch "
                  "lists only",
                  "main.toml:3:10: [history]: splits: \"s.csv\" cannot be read: No such file or directory; its dates "
                  "are not told in notices",
                  "main.toml:4:12: [history]: earnings: \"e.csv\" cannot be read: No such file or directory; its dates "
                  "are not told in notices",
                  "main.toml:6:8: feed \"tape\": kind: brimwatch run leaves a feed of the kind \"tape\" out; it is for "
                  "brimwatch replay",
                  "main.toml:11:19: channel \"webhook\": secret: secret file open.key can be read or written by others; "
                  "expected mode 0600: chmod 600 it"));
  errors_of("[[watch]]\nsymbol = \"KLVN\"\npivot = 1\n", options);
  EXPECT_THAT(folder.lines(loaded.warnings),
              testing::Contains(HasSubstr("there is no [[feed]]: brimwatch run needs one")));
}

TEST_F(Loader, a_password_in_the_file_is_refused_and_never_repeated) {
  const auto errors = errors_of(
      "[[channel]]\nkind = \"email\"\nwrite_to = \"m\"\npassword = \"hunter2-canary\"\n[[channel]]\nkind = "
      "\"webhook\"\nurl = "
      "\"https://h.example.org\"\nsecret = { env = \"A\", file = \"b\" }\n");
  EXPECT_THAT(
      errors,
      ElementsAre("main.toml:4:12: channel \"email\": password: found the secret itself, expected { env = "
                  "\"NAME\" }, { file = \"path\" } or { credential = \"id\" }: a secret never stands in the "
                  "configuration; nothing was loaded",
                  "main.toml:8:10: channel \"webhook\": secret: found a table, expected { env = \"NAME\" }, { file = "
                  "\"path\" } or { credential = \"id\" }; nothing was loaded"));
  for (const std::string& line : errors) EXPECT_THAT(line, testing::Not(HasSubstr("hunter2")));
}

TEST_F(Loader, a_channel_says_what_is_wrong_in_it) {
  EXPECT_THAT(
      errors_of(R"([[channel]]
kind = "email"
from = "me"
to = ["a@b.example", "c"]
user = "me"
[[channel]]
kind = "webhook"
url = "http://127.0.0.1:80/"
[[channel]]
kind = "command"
kinds = ["crosed"]
[[channel]]
kind = "desktop"
to = "a@b.example"
quiet = { from = "25:00" }
)"),
      ElementsAre(
          "main.toml:1:1: channel \"email\": url: found none, expected \"smtp://host:587\", \"smtps://host:465\", or "
          "write_to with a folder; nothing was loaded",
          "main.toml:1:1: channel \"email\": password: found none, expected both user and password, or neither; "
          "nothing was loaded",
          "main.toml:3:1: channel \"email\": from: found \"me\", expected an address such as \"me@example.org\"; "
          "nothing was loaded",
          "main.toml:4:1: channel \"email\": to: found \"c\", expected an address such as \"me@example.org\"; nothing "
          "was loaded",
          "main.toml:8:1: channel \"webhook\": url: found an unencrypted address, \"http://127.0.0.1\", expected "
          "\"https://\"; unencrypted only to 127.0.0.1 or [::1], with insecure_loopback = true; nothing was loaded",
          "main.toml:9:1: channel \"command\": command: found none, expected program and arguments such as "
          "[\"notify\", \"--now\"]; nothing was loaded",
          HasSubstr("main.toml:11:10: channel \"command\": kinds: found \"crosed\", expected a list of \"crossed\", "),
          "main.toml:14:1: channel \"desktop\": to: found a key of the kind \"email\", expected none in the kind "
          "\"desktop\"; nothing was loaded",
          "main.toml:15:18: channel \"desktop\": from: found \"25:00\", expected a time of day such as \"09:30\"; "
          "nothing was loaded"));
}

TEST_F(Loader, control_characters_are_refused_in_every_text) {
  EXPECT_THAT(
      errors_of("[[channel]]\nkind = \"email\"\nwrite_to = \"m\"\nfrom = \"me@example.org\\r\\nBcc: x@example.org\"\n"),
      ElementsAre(
          "main.toml:4:8: channel \"email\": from: found \"me@example.org\\x0D\\x0ABcc: x@example.org\", expected text "
          "without control characters; nothing was loaded"));
}

TEST_F(Loader, text_that_would_end_the_parsers_process_is_an_error_like_any_other) {
  EXPECT_THAT(errors_of("[=]\n"),
              ElementsAre("main.toml:1:2: found no valid TOML: a section's name begins with a letter, digit, "
                          "_, - or a quote; nothing was loaded"));
  EXPECT_THAT(
      errors_of("gr\xC3\xB6\xC3\x9F"
                "e = 1\n"),
      ElementsAre("main.toml:1:3: found no valid TOML: letters outside quotes are a-z, A-Z, 0-9, _ and -; put other "
                  "ones in quotes; nothing was loaded"));
}

TEST_F(Loader, an_error_is_one_line_even_where_the_parser_repeats_a_line_end) {
  EXPECT_THAT(errors_of("a = fa\n"), ElementsAre(testing::Not(HasSubstr("\n"))));
}

TEST_F(Loader, nesting_and_sizes_are_bounded) {
  std::string dotted = "a";
  for (int i = 0; i < 100'000; ++i) dotted += ".a";
  EXPECT_THAT(errors_of(dotted + " = 1\n"),
              ElementsAre("main.toml:1:130: found no valid TOML: more than 64 points in one key; nothing was loaded"));
  EXPECT_THAT(errors_of("a = " + std::string(100'000, '[')), ElementsAre(HasSubstr("found no valid TOML")));
  EXPECT_THAT(errors_of("journal = \"" + std::string(5000, 'x') + "\"\n"),
              ElementsAre("main.toml:1:11: journal: found 5000 bytes, expected at most 4096; nothing was loaded"));
  EXPECT_THAT(errors_of(std::string((16U << 20) + 1, '\n')),
              ElementsAre(HasSubstr("found 16777217 bytes, expected at most 16777216")));
}

TEST_F(Loader, many_errors_are_cut_off_and_counted) {
  std::string text;
  for (int i = 0; i < 500; ++i) text += "[[watch]]\nsymbol = \"S" + std::to_string(i) + "\"\n";
  const auto errors = errors_of(text);
  ASSERT_EQ(errors.size(), Problems::kMost + 1);
  EXPECT_EQ(errors.back(), "main.toml: and 300 more of the kind, not shown");
}

TEST_F(Loader, a_second_feed_that_is_no_stand_by_is_warned_of) {
  const std::string first = "[[feed]]\nname = \"a\"\nkind = \"pipe\"\ncommand = [\"/bin/cat\"]\n";
  const std::string second = "[[feed]]\nname = \"b\"\nkind = \"pipe\"\ncommand = [\"/bin/cat\"]\n";
  const auto is_told = Contains(HasSubstr("feed \"b\": found in use beside \"a\""));
  const auto warnings = [this](const std::string& text) {
    loaded = load_settings(folder.write("main.toml", text), {.files = true});
    EXPECT_THAT(folder.lines(loaded.problems), IsEmpty());
    return folder.lines(loaded.warnings);
  };
  EXPECT_THAT(warnings(first + second), is_told);
  EXPECT_THAT(warnings(first + second + "standby_for = \"a\"\n"), Not(is_told));
  EXPECT_THAT(warnings(first + second + "enabled = false\n"), Not(is_told));
}

TEST_F(Loader, gaps_are_warned_of) {
  ASSERT_THAT(errors_of(""), IsEmpty());
  EXPECT_THAT(folder.lines(loaded.warnings),
              ElementsAre("main.toml: there are no watches: add [[watch]] or watch_lists",
                          "main.toml: there are no channels: notices are only kept in the journal"));
}

TEST_F(Loader, places_are_counted_in_characters_behind_a_byte_order_mark_too) {
  EXPECT_THAT(errors_of("\xEF\xBB\xBF# gr\xC3\xB6\xC3\x9F"
                        "e\n[log]\nlevel = \"\xC3\xA4\" # x\n"),
              ElementsAre(HasSubstr("main.toml:3:9: [log]: level: found \"\xC3\xA4\"")));
}

TEST(Limits, a_command_in_a_file_that_everybody_writes_is_refused) {
  const Folder folder;
  const std::string command = "[[channel]]\nkind = \"command\"\ncommand = [\"true\"]\n";
  const std::string feed = "[[feed]]\nkind = \"pipe\"\ncommand = [\"true\"]\n";
  for (const std::string& text : {command, feed}) {
    const std::string path = folder.write("main.toml", text);
    ASSERT_EQ(::chmod(path.c_str(), 0646), 0);
    EXPECT_THAT(folder.lines(load_settings(path).problems),
                ElementsAre(AllOf(HasSubstr("it names a command to start, and everybody on this machine may write to it"),
                                  HasSubstr("chmod go-w"))));
    ASSERT_EQ(::chmod(path.c_str(), 0664), 0);
    Loaded loaded = load_settings(path);
    EXPECT_TRUE(loaded.ok());
    EXPECT_THAT(folder.lines(loaded.warnings), Contains(HasSubstr("its group may write to it")));
    ASSERT_EQ(::chmod(path.c_str(), 0644), 0);
    EXPECT_THAT(folder.lines(load_settings(path).warnings), Not(Contains(HasSubstr("may write"))));
    ASSERT_EQ(::chmod(folder.path().c_str(), 0777), 0);
    EXPECT_THAT(folder.lines(load_settings(path).problems), ElementsAre(HasSubstr("may replace it, in ")))
        << "by its folder";
    ASSERT_EQ(::chmod(folder.path().c_str(), 01777), 0);
    EXPECT_TRUE(load_settings(path).ok()) << "in a sticky folder only its owner replaces it";
    ASSERT_EQ(::chmod(folder.path().c_str(), 0700), 0);
  }
  const std::string harmless = folder.write("main.toml", "[[channel]]\nkind = \"console\"\n");
  ASSERT_EQ(::chmod(harmless.c_str(), 0666), 0);
  EXPECT_TRUE(load_settings(harmless).ok()) << "no command, no matter";
}

TEST(Limits, reading_ends_at_the_first_watch_that_is_too_many) {
  const Folder folder;
  folder.write("a.csv", "symbol,pivot\nKLVN,1\nNIVO,2\nHALQ,x\n");
  const std::string main = folder.write("main.toml", "watch_lists = [\"a.csv\", \"none.csv\"]\n");
  LoadOptions options;
  options.watches_most = 2;
  EXPECT_THAT(folder.lines(load_settings(main, options).problems),
              ElementsAre("a.csv:4:1: found more than 2 watches, expected at most so many; nothing was loaded"));
  folder.write("a.csv", "symbol,pivot\nKLVN,1\nNIVO,2\nHALQ,3\nQUOL,x\n");
  options.watches_most = 3;
  EXPECT_THAT(folder.lines(load_settings(main, options).problems), Contains(HasSubstr("a.csv:5:1: found more than 3")));
}

TEST(Limits, a_list_that_is_much_too_long_is_not_read) {
  const Folder folder;
  folder.write("a.csv", "symbol,pivot\n" + std::string(100, '\n') + "this,is,not,looked,at\n");
  const std::string main = folder.write("main.toml", "watch_lists = [\"a.csv\"]\n");
  LoadOptions options;
  options.watches_most = 50;
  EXPECT_THAT(folder.lines(load_settings(main, options).problems),
              ElementsAre("a.csv: found 102 lines, expected at most 100; nothing was loaded"));
}

// A spreadsheet's "Unicode text" and some editors' "Unicode" are UTF-16.
TEST_F(Loader, says_of_utf16_what_it_is) {
  const auto utf16 = [](std::string_view text, bool big) {
    std::string out(big ? "\xFE\xFF" : "\xFF\xFE");
    for (const char c : text) big ? (out += '\0', out += c) : (out += c, out += '\0');
    return out;
  };
  for (const bool big : {false, true}) {
    const std::string text = utf16("[[feed]]\nkind = \"pipe\"\n", big);
    const std::string said =
        "main.toml:1:1: found UTF-16 text, expected UTF-8: save the file as UTF-8; nothing was loaded";
    EXPECT_THAT(errors_of(text), ElementsAre(said));
    EXPECT_THAT(errors_of(text.substr(2)), ElementsAre(said)) << "without its mark";
  }
  folder.write("list.csv", utf16("symbol\tpivot\nKLVN\t48.35\n", false));
  EXPECT_THAT(errors_of("watch_lists = [\"list.csv\"]\n"),
              ElementsAre("list.csv:1:1: found UTF-16 text, expected UTF-8: save the file as UTF-8; nothing was loaded"));
}

TEST_F(Loader, misses_nothing_in_a_file_that_it_cannot_read) {
  LoadOptions options;
  options.files = true;
  EXPECT_THAT(errors_of("[[feed]]\nkind = \"pipe\nname = \"main\"\n", options), testing::SizeIs(1));
  EXPECT_THAT(loaded.warnings, IsEmpty()) << "the feed is there";
}

}  // namespace
}  // namespace brimwatch
