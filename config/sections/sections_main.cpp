// The keys of the main file's smaller sections, of the rules and of a watch.
#include <array>

#include "config/reading/text.h"
#include "config/sections/sections.h"
#include "config/sections/shapes.h"

namespace brimwatch {
namespace sections {
namespace {

constexpr std::array<std::string_view, 3> kTrends{"up", "mixed", "down"};
constexpr std::array<std::string_view, 3> kWhenDown{"tell", "mark", "hold-back"};
constexpr std::array<std::string_view, 3> kDayVolume{"find-out", "regular", "extended"};
constexpr std::array<std::string_view, 3> kSplitGuard{"quiet", "ask", "off"};
constexpr std::array<std::string_view, 3> kHalts{"near", "all", "none"};
constexpr std::array<std::string_view, 12> kTickTables{"market", "XNYS",   "XTSE",   "XLON-1", "XLON-2",   "XLON-3",
                                                       "XLON-4", "XLON-5", "XLON-6", "XTKS",   "XTKS-500", "cents"};
constexpr std::array<std::string_view, 3> kTapes{"A", "B", "C"};
constexpr std::array<std::string_view, 4> kLogLevels{"debug", "info", "warning", "error"};
constexpr std::array<std::string_view, 2> kLogFormats{"text", "json"};

constexpr Key<TopLevel> kTopLevel[] = {
    {{"watch_lists", patterns(), "Watch lists to read (TOML or CSV), relative to this file; wildcards allowed"},
     set<TopLevel, &TopLevel::watch_lists>},
    {{"journal", path(), "The database of notices; without it, the place XDG gives"}, set<TopLevel, &TopLevel::journal>},
};

constexpr Key<SessionSettings> kSession[] = {
    {{"calendar", mic(), "Exchange whose days and hours apply to watches that name none"},
     set<SessionSettings, &SessionSettings::calendar>},
    {{"calendar_files", paths(), "Your own calendar files; their days win over the built-in ones"},
     set<SessionSettings, &SessionSettings::calendar_files>},
    {{"extended_volume", boolean(), "Volume before the open and after the close counts in the day's volume"},
     set<SessionSettings, &SessionSettings::extended_volume>},
    {{"day_volume_includes", word(kDayVolume),
      "What sources count as the day's volume: regular hours, extended hours too, or found out from the day's first "
      "trades"},
     set<SessionSettings, &SessionSettings::day_volume_includes>},
};

constexpr Key<Rules> kRules[] = {
    {{"range", percent(1, 100 * kUnit), "Buy range above the pivot, percent"}, set<Rules, &Rules::range>},
    {{"surge", percent(0, 2000 * kUnit), "Day volume wanted above normal, percent"}, set<Rules, &Rules::surge>},
    {{"offset", money(0, 1'000 * kUnit), "Added to peak to make the pivot, in money"}, set<Rules, &Rules::offset>},
    {{"rearm", percent(0, 50 * kUnit),
      "How far under the pivot a price must fall before a crossing counts again, percent"},
     set<Rules, &Rules::rearm>},
    {{"slip", percent(0, 50 * kUnit), "How far under the pivot before a fell-under notice, percent"},
     set<Rules, &Rules::slip>},
    {{"loss", percent(1, 99 * kUnit),
      "Loss limit under the pivot, percent; of a stock you said you bought, under your own price"},
     set<Rules, &Rules::loss>},
    {{"gain", percent(0, 1000 * kUnit), "Rise above your own price that brings a notice, percent; 0: never"},
     set<Rules, &Rules::gain>},
    {{"gain_more", percent(0, 1000 * kUnit), "A second, larger rise that brings a notice; 0: never"},
     set<Rules, &Rules::gain_more>},
    {{"odds_heavy", fraction(), "From these odds on, the volume is called heavy"}, set<Rules, &Rules::odds_heavy>},
    {{"odds_light", fraction(), "Up to these odds, the volume is called light"}, set<Rules, &Rules::odds_light>},
    {{"per_day", count(1, 100), "Most crossing notices of one watch in a day"}, set<Rules, &Rules::per_day>},
    {{"bad_print", percent(0, 100 * kUnit),
      "A trade this far from the last one needs a second to confirm it, percent; 0: off"},
     set<Rules, &Rules::bad_print>},
    {{"tick_size", money(0, 1'000 * kUnit),
      "One step at every price, in money, in the place of tick_table; levels are cut down to it. 0: the table holds"},
     set<Rules, &Rules::tick_size>},
    {{"tick_table", word(kTickTables),
      "Steps that prices lie on: the market's of the calendar, or a table by name; XLON-1 is for the least traded, "
      "XLON-6 for the most, XTKS-500 for the TOPIX 500"},
     set<Rules, &Rules::tick_table>},
    {{"confirm_trades", count(1, 1'000), "Trades at or above the pivot, in a row, that make a crossing"},
     set<Rules, &Rules::confirm_trades>},
    {{"confirm_seconds", count(0, 3'600), "Seconds that the price has to stay at or above the pivot to make a crossing"},
     set<Rules, &Rules::confirm_seconds>},
    {{"least_size", count(0, 60'000), "Smallest print, in shares, that can cross; 0: any"},
     set<Rules, &Rules::least_size>},
    {{"trust_auctions", boolean(), "Prints of opening, reopening and closing auctions need no confirming print"},
     set<Rules, &Rules::trust_auctions>},
    {{"split_guard", word(kSplitGuard),
      "A price that looks like a split: a watch that nothing was bought by is quiet that day; or ask; or off"},
     set<Rules, &Rules::split_guard>},
    {{"halts", word(kHalts), "Halts to notify: near or above a pivot, all, or none"}, set<Rules, &Rules::halts>},
    {{"second_day", boolean(), "Notify when volume arrives on a later day with the price still in the range"},
     set<Rules, &Rules::second_day>},
    {{"close_above", boolean(), "Send the day's end of every watch that closes above its pivot"},
     set<Rules, &Rules::close_above>},
};

constexpr Key<MarketSettings> kMarket[] = {
    {{"trend", word(kTrends), "The general market as you see it; without it, taken from the index, if any"},
     set<MarketSettings, &MarketSettings::trend>},
    {{"index", path(), "Daily bars of an index (CSV); gives the trend where you set none"},
     set<MarketSettings, &MarketSettings::index>},
    {{"when_down", word(kWhenDown), "Crossings in a falling market: tell as usual, mark them, or hold them back"},
     set<MarketSettings, &MarketSettings::when_down>},
};

/// Mebibytes in the file, bytes in the settings.
bool set_record_size(RecordSettings& into, const Value& value, const Shape& shape, Reading& reading) {
  std::uint64_t mebibytes = 0;
  if (!read(mebibytes, value, shape, reading)) return false;
  into.bytes_most = mebibytes << 20;
  return true;
}

std::string initial_record_size(const KeyInfo& key) { return written(RecordSettings{}.bytes_most >> 20, key.shape); }

constexpr Key<RecordSettings> kRecord[] = {
    {{"directory", path(), "Folder for recorded feeds; without it, nothing is recorded"},
     set<RecordSettings, &RecordSettings::directory>},
    {{"frames", boolean(), "Record raw messages as they came"}, set<RecordSettings, &RecordSettings::frames>},
    {{"tape", boolean(), "Record the decoded ticks as a tape"}, set<RecordSettings, &RecordSettings::tape>},
    {{"most_mib", count(1, 1 << 20), "Room for recordings in MiB; the oldest days go first"},
     {set_record_size, initial_record_size}},
};

constexpr Shape kDaysKept = count(0, 36'500);

constexpr Key<KeepSettings> kKeep[] = {
    {{"notices", kDaysKept, "Days to keep notices with their deliveries; 0: for ever"},
     set<KeepSettings, &KeepSettings::notices>},
    {{"deliveries", kDaysKept, "Days to keep deliveries (channels, attempts, replies) of kept notices; 0: for ever"},
     set<KeepSettings, &KeepSettings::deliveries>},
    {{"day_records", kDaysKept, "Days to keep a stock's day record; 0: for ever"},
     set<KeepSettings, &KeepSettings::day_records>},
    {{"holes", kDaysKept, "Days to keep feed holes; 0: for ever"}, set<KeepSettings, &KeepSettings::holes>},
    {{"states", kDaysKept,
      "Days back from which it is known where each watch stood; the newest always stays. 0: for ever"},
     set<KeepSettings, &KeepSettings::states>},
    {{"mails", kDaysKept, "Days to keep mails that a channel writes into a folder (write_to); 0: for ever"},
     set<KeepSettings, &KeepSettings::mails>},
};

constexpr Key<PageSettings> kPage[] = {
    {{"on", boolean(), "Serve the status page on this machine"}, set<PageSettings, &PageSettings::on>},
    {{"port", count(0, 65'535), "Its port on 127.0.0.1 and ::1; 0: one that is free"},
     set<PageSettings, &PageSettings::port>},
    {{"everybody", boolean(), "Every user of this machine may read it, not only the one that brimwatch runs as"},
     set<PageSettings, &PageSettings::everybody>},
    {{"listen", text(64), "Serve it to paired devices too: address and port, such as 192.0.2.7:8443 or [::]:8443"},
     set<PageSettings, &PageSettings::listen>},
    {{"address", url(), "What those devices open, such as https://desk.example.org:8443; no other name is answered"},
     set<PageSettings, &PageSettings::address>},
    {{"certificate", path(),
      "Its certificate with intermediates (PEM); without it, unencrypted, for a proxy on this machine"},
     set<PageSettings, &PageSettings::certificate>},
    {{"key", path(), "The certificate's private key (PEM), readable by its owner only"},
     set<PageSettings, &PageSettings::key>},
};

constexpr Key<LifeSettings> kLife[] = {
    {{"morning", clock(), "Time of the daily sign of life, exchange time"}, set<LifeSettings, &LifeSettings::morning>},
    {{"day_end", boolean(), "Send a summary of the day after the close"}, set<LifeSettings, &LifeSettings::day_end>},
    {{"heartbeat_url", url(), "Address called as long as all is well, for an outside monitor"},
     set<LifeSettings, &LifeSettings::heartbeat_url>},
    {{"heartbeat_proxy", url(), "HTTP proxy for it; the environment's is not used"},
     set<LifeSettings, &LifeSettings::heartbeat_proxy>},
    {{"heartbeat_every", seconds(kUnit, 86'400 * kUnit), "Seconds between such calls"},
     set<LifeSettings, &LifeSettings::heartbeat_every>},
};

constexpr Key<EveningSettings> kEvening[] = {
    {{"review_at", clock(), "When the day's review is sent, exchange time, after the close; without it, never"},
     set<EveningSettings, &EveningSettings::review_at>},
    {{"channels", texts(), "Names of the channels that get it; without it, every email channel"},
     set<EveningSettings, &EveningSettings::channels>},
    {{"odds_days", count(1, 3'650), "Calendar days of past odds that it judges"},
     set<EveningSettings, &EveningSettings::odds_days>},
};

constexpr Key<Settings> kLog[] = {
    {{"level", word(kLogLevels), "How much goes into the log"}, set<Settings, &Settings::log_level>},
    {{"format", word(kLogFormats), "Lines for people, or one JSON object a line for programs"},
     set<Settings, &Settings::log_format>},
};

bool set_symbol(WatchDraft& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::text && value.kind != Value::Kind::cell) {
    return reading.refuse(value.place, describe(value), "a symbol in quotes such as \"KLVN\"");
  }
  static_cast<void>(shape);
  if (std::string wrong = symbol_problem(value.text); !wrong.empty()) return reading.tell(value.place, wrong);
  into.symbol = value.text;
  return true;
}

/// Limited in characters, so that a note in any script has the same room.
bool set_note(WatchDraft& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!read(into.note, value, text(shape.most * 4), reading)) return false;
  const std::size_t length = characters(into.note);
  if (length <= static_cast<std::size_t>(shape.most)) return true;
  return reading.refuse(value.place, std::to_string(length) + " characters", "at most " + std::to_string(shape.most));
}

bool set_pivot(WatchDraft& into, const Value& value, const Shape& shape, Reading& reading) {
  Price price;
  if (!read(price, value, shape, reading)) return false;
  into.given_pivot = price;
  return true;
}

bool set_peak(WatchDraft& into, const Value& value, const Shape& shape, Reading& reading) {
  Price price;
  if (!read(price, value, shape, reading)) return false;
  into.peak = price;
  return true;
}

constexpr Shape kListing{Shape::Kind::letter};
constexpr Shape kPrice = money(1, 10'000'000 * kUnit);

constexpr Key<WatchDraft> kWatch[] = {
    {{"symbol", text(32), "The stock's symbol as the feed writes it"}, set_symbol},
    {{"pivot", kPrice, "The price at which it clears its last resistance"}, set_pivot},
    {{"peak", kPrice, "The resistance itself; the pivot is peak + offset"}, set_peak},
    {{"normal_volume", shares(), "Normal volume of a day; without it, the mean of the last 50 days of history"},
     set<WatchDraft, &WatchDraft::normal_volume>},
    {{"from", date(), "First day it is watched"}, set<WatchDraft, &WatchDraft::from>},
    {{"until", date(), "Last day it is watched"}, set<WatchDraft, &WatchDraft::until>},
    {{"note", text(200), "Your own words, shown in its notices"}, set_note},
    {{"calendar", mic(), "Exchange whose days and hours apply; without it, [session] calendar"},
     set<WatchDraft, &WatchDraft::calendar>},
    {{"tape", word(kTapes),
      "Consolidated tape whose sale conditions apply: A, B or C; without it, that of the first feed"},
     set<WatchDraft, &WatchDraft::tape>},
    {{"listing", kListing, "Participant code of the listing market on the tape"}, set<WatchDraft, &WatchDraft::listing>},
};

}  // namespace
}  // namespace sections

std::span<const Key<TopLevel>> top_level_keys() { return sections::kTopLevel; }
std::span<const Key<SessionSettings>> session_keys() { return sections::kSession; }
std::span<const Key<Rules>> rules_keys() { return sections::kRules; }
std::span<const Key<MarketSettings>> market_keys() { return sections::kMarket; }
std::span<const Key<RecordSettings>> record_keys() { return sections::kRecord; }
std::span<const Key<KeepSettings>> keep_keys() { return sections::kKeep; }
std::span<const Key<PageSettings>> page_keys() { return sections::kPage; }
std::span<const Key<LifeSettings>> life_keys() { return sections::kLife; }
std::span<const Key<EveningSettings>> evening_keys() { return sections::kEvening; }
std::span<const Key<Settings>> log_keys() { return sections::kLog; }
std::span<const Key<WatchDraft>> watch_keys() { return sections::kWatch; }

}  // namespace brimwatch
