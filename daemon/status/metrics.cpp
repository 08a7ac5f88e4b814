#include "status/metrics.h"

#include <charconv>
#include <cmath>
#include <utility>
#include <vector>

#include "status/readiness.h"

namespace brimwatch {
namespace {

using Labels = std::vector<std::pair<std::string_view, std::string_view>>;

void append_escaped(std::string& to, std::string_view text) {
  for (const char c : text) {
    if (c == '\\') to += "\\\\";
    else if (c == '"') to += "\\\"";
    else if (c == '\n') to += "\\n";
    else to += c;
  }
}

std::string number(double value) {
  if (std::isnan(value)) return "NaN";
  if (std::isinf(value)) return value > 0 ? "+Inf" : "-Inf";
  char digits[40];
  const auto end = std::to_chars(digits, digits + sizeof digits, value).ptr;
  return {digits, end};
}

/// One family after another; the samples of one stay together, as the standard asks.
class Text {
 public:
  void counter(std::string_view name, std::string_view help) { family(name, "counter", "", help, "_total"); }
  void gauge(std::string_view name, std::string_view help, std::string_view unit = {}) {
    family(name, "gauge", unit, help, "");
  }
  void info(std::string_view name, std::string_view help) { family(name, "info", "", help, "_info"); }

  void sample(const Labels& labels, double value) { sample(labels, number(value)); }
  void sample(const Labels& labels, std::uint64_t value) { sample(labels, std::to_string(value)); }
  void sample(const Labels& labels, bool value) { sample(labels, std::string(value ? "1" : "0")); }

  [[nodiscard]] std::string done() && { return std::move(out_) + "# EOF\n"; }

 private:
  void family(std::string_view name, std::string_view type, std::string_view unit, std::string_view help,
              std::string_view suffix) {
    name_ = std::string("brimwatch_").append(name);
    out_.append("# TYPE ").append(name_).append(" ").append(type).append("\n");
    if (!unit.empty()) out_.append("# UNIT ").append(name_).append(" ").append(unit).append("\n");
    out_.append("# HELP ").append(name_).append(" ").append(help).append("\n");
    name_.append(suffix);
  }
  void sample(const Labels& labels, const std::string& value) {
    out_ += name_;
    char before = '{';
    for (const auto& [label, text] : labels) {
      out_ += before;
      out_.append(label).append("=\"");
      append_escaped(out_, text);
      out_ += '"';
      before = ',';
    }
    if (!labels.empty()) out_ += '}';
    out_.append(" ").append(value).append("\n");
  }

  std::string out_, name_;
};

void put_program(Text& text, const Snapshot& now) {
  text.info("build", "The version of the program");
  text.sample({{"version", now.version}}, true);
  text.counter("ticks", "Ticks given to the engine");
  text.sample({}, now.ticks);
  text.counter("notices", "Notices told, also those that the journal could not keep");
  text.sample({}, now.notices);
  text.counter("notices_of_kind", "Notices told, by kind");
  for (const auto& [kind, count] : now.notices_by_kind) text.sample({{"kind", kind}}, count);
  text.counter("holes", "Spans of time in which a feed, or one stock of it, was not seen");
  text.sample({}, now.holes);
  text.counter("engine_events", "What the engine counted, by kind");
  for (const auto& [kind, count] : now.engine) text.sample({{"kind", kind}}, count);
  text.gauge("journal_waiting", "Rows that wait to be written");
  text.sample({}, now.journal_waiting);
  text.counter("journal_failures", "Attempts to open or write the journal that failed");
  text.sample({}, now.journal_failures);
  text.gauge("journal_well", "1 while the journal can be written");
  text.sample({}, now.journal_trouble.empty());
  text.gauge("session_open", "1 in regular trading hours");
  text.sample({}, now.session == "open");
}

/// What one wants to be called for.
void put_upkeep(Text& text, const Snapshot& now) {
  const UpkeepRow& row = now.upkeep;
  text.gauge("start_time_seconds", "When this run began, seconds since 1970", "seconds");
  if (row.started.is_set()) text.sample({}, static_cast<double>(row.started.ns) / 1e9);
  text.gauge("ready", "1 while nothing is amiss that keeps notices from being told or kept; /readyz says what is");
  text.sample({}, what_is_amiss(now).empty());
  text.gauge("blind", "1 while the exchange is open and no feed gives, also one that never did");
  text.sample({}, is_blind(now));
  text.gauge("watches", "Watches in the lists");
  text.sample({}, static_cast<std::uint64_t>(now.watches.size()));
  text.gauge("watches_in_force", "Watches that today is a day of");
  text.sample({}, watches_in_force(now));
  text.counter("reloads", "Reloads of the configuration, by outcome");
  text.sample({{"outcome", "in force"}}, row.reloads);
  text.sample({{"outcome", "refused"}}, row.reloads_refused);
  text.gauge("reload_refused", "1 while the last reload was refused, so that an older configuration is in force");
  text.sample({}, !now.configuration.refused.empty());
  text.gauge("journal_bytes", "Size of the journal's file and of the log beside it", "bytes");
  if (row.journal_bytes > 0) text.sample({}, row.journal_bytes);
  text.counter("log_lines_dropped", "Lines of the log that came faster than they could be written");
  text.sample({}, row.log_lines_dropped);
  if (!row.has_heartbeat) return;
  text.counter("heartbeats", "Calls of the heartbeat's address, by outcome");
  text.sample({{"outcome", "answered"}}, row.heartbeats - row.heartbeats_failed);
  text.sample({{"outcome", "failed"}}, row.heartbeats_failed);
  text.gauge("heartbeat_failing", "1 while the last call of the heartbeat's address failed");
  text.sample({}, row.heartbeat_failing);
}

void put_feeds(Text& text, const Snapshot& now) {
  text.counter("feed_ticks", "Ticks that a feed brought");
  for (const FeedRow& feed : now.feeds) text.sample({{"feed", feed.name}}, feed.ticks);
  text.counter("feed_malformed", "Messages that could not be read");
  for (const FeedRow& feed : now.feeds) text.sample({{"feed", feed.name}}, feed.malformed);
  text.counter("feed_reconnects", "Connections made anew, once they stand");
  for (const FeedRow& feed : now.feeds) text.sample({{"feed", feed.name}}, feed.reconnects);
  text.counter("feed_faults", "What was recognised of a feed and left out, told, or taken for a hole, by kind");
  for (const FeedRow& feed : now.feeds)
    for (const auto& [kind, count] : feed.recognised) text.sample({{"feed", feed.name}, {"kind", kind}}, count);
  text.gauge("feed_carrying", "1 for the feed whose ticks go to the engine");
  for (const FeedRow& feed : now.feeds) text.sample({{"feed", feed.name}}, feed.carrying);
  text.gauge("feed_up", "1 while the feed is connected, or open");
  for (const FeedRow& feed : now.feeds) text.sample({{"feed", feed.name}}, feed.up);
  text.gauge("feed_lag_seconds", "Received less exchange time of the newest tick; 0 where the source's clock is ahead",
             "seconds");
  for (const FeedRow& feed : now.feeds)
    if (feed.lag_seconds >= 0) text.sample({{"feed", feed.name}}, feed.lag_seconds);
  text.gauge("feed_silent_seconds", "Since the last tick", "seconds");
  for (const FeedRow& feed : now.feeds)
    if (feed.silent_seconds >= 0) text.sample({{"feed", feed.name}}, feed.silent_seconds);
}

void put_recording(Text& text, const RecordingRow& row) {
  if (!row.on) return;
  text.counter("recorded", "Ticks and frames kept in recordings");
  text.sample({{"what", "ticks"}}, row.ticks);
  text.sample({{"what", "frames"}}, row.frames);
  text.counter("recording_dropped", "Ticks and frames that the recorder could not keep");
  text.sample({{"what", "ticks"}}, row.dropped_ticks);
  text.sample({{"what", "frames"}}, row.dropped_frames);
  text.counter("recording_errors", "Times that a recording could not be written");
  text.sample({}, row.errors);
  text.gauge("recordings_bytes", "Size of all recordings in the directory", "bytes");
  text.sample({}, row.bytes);
}

void put_channels(Text& text, const Snapshot& now) {
  text.counter("deliveries", "Deliveries that ended, by outcome; unknown: it may have arrived");
  for (const ChannelRow& row : now.channels) {
    const std::pair<std::string_view, std::uint64_t> outcomes[] = {
        {"delivered", row.delivered}, {"dead", row.dead}, {"expired", row.expired}, {"unknown", row.ended_unknown}};
    for (const auto& [outcome, count] : outcomes) text.sample({{"channel", row.name}, {"outcome", outcome}}, count);
  }
  text.counter("delivery_retries", "Attempts to deliver a message after its first");
  for (const ChannelRow& row : now.channels) text.sample({{"channel", row.name}}, row.retried);
  text.counter("delivery_unknowns", "Delivery attempts after which the message may have arrived");
  for (const ChannelRow& row : now.channels) text.sample({{"channel", row.name}}, row.unknown);
  text.gauge("deliveries_waiting", "Deliveries that wait in a channel's queue, or are on their way");
  for (const ChannelRow& row : now.channels) text.sample({{"channel", row.name}}, row.waiting);
  text.gauge("delivery_oldest_seconds", "Age of the oldest of those, but for what quiet hours hold; 0: none", "seconds");
  for (const ChannelRow& row : now.channels) text.sample({{"channel", row.name}}, row.oldest_seconds);
  text.gauge("channel_in_trouble", "1 while the channel does not get through");
  for (const ChannelRow& row : now.channels) text.sample({{"channel", row.name}}, row.in_trouble);
}

/// A symbol may have several pivots, so both name a watch.
void put_watches(Text& text, const Snapshot& now) {
  std::vector<std::string> pivots;
  for (const WatchRow& row : now.watches) pivots.push_back(to_string(row.pivot));
  text.gauge("watch_odds_ratio", "Odds that the day ends at or above the needed surge", "ratio");
  for (std::size_t i = 0; i < pivots.size(); ++i)
    if (now.watches[i].volume.why_not == NoJudgement::none)
      text.sample({{"symbol", now.watches[i].symbol}, {"pivot", pivots[i]}}, now.watches[i].volume.odds);
  text.gauge("watch_projected_shares", "Median of the projected volume of the day", "shares");
  for (std::size_t i = 0; i < pivots.size(); ++i)
    if (now.watches[i].volume.why_not == NoJudgement::none)
      text.sample({{"symbol", now.watches[i].symbol}, {"pivot", pivots[i]}}, now.watches[i].volume.projected);
}

void put_projection(Text& text, const Snapshot& now) {
  text.gauge("projection_error_ratio",
             "Mean of |projected / came - 1| on the last day that ended, minutes after its open", "ratio");
  for (const ProjectionError& one : now.projection_errors)
    text.sample({{"minutes", std::to_string(one.minutes)}}, one.mean);
  text.gauge("projection_bias_ratio", "Mean of projected / came - 1 on that day", "ratio");
  for (const ProjectionError& one : now.projection_errors)
    text.sample({{"minutes", std::to_string(one.minutes)}}, one.bias);
  text.gauge("projection_stocks", "Stocks in those means");
  for (const ProjectionError& one : now.projection_errors)
    text.sample({{"minutes", std::to_string(one.minutes)}}, static_cast<std::uint64_t>(one.stocks));
}

}  // namespace

std::string metrics_text(const Snapshot& snapshot) {
  Text text;
  put_program(text, snapshot);
  put_upkeep(text, snapshot);
  put_feeds(text, snapshot);
  put_recording(text, snapshot.recording);
  put_channels(text, snapshot);
  put_watches(text, snapshot);
  put_projection(text, snapshot);
  return std::move(text).done();
}

}  // namespace brimwatch
