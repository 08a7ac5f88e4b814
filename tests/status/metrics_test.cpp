// The text is held against a small strict reader of OpenMetrics 1.0 (sections "Overall Structure", "Metric types"): it
// knows nothing of our writer.
#include "status/metrics.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "status/readiness.h"

namespace brimwatch {
namespace {

using testing::HasSubstr;

/// What is wrong with a text, or nothing; samples by their whole name with labels.
struct Reading {
  std::string fault;
  std::map<std::string, double> samples;
};

class Reader {
 public:
  Reading read(const std::string& text) {
    if (text.find('\r') != std::string::npos) return stop("a carriage return");
    if (!text.ends_with("# EOF\n")) return stop("no # EOF at the end");
    std::istringstream lines(text.substr(0, text.size() - 6));
    for (std::string line; out_.fault.empty() && std::getline(lines, line);) take(line);
    return out_;
  }

 private:
  Reading stop(const std::string& why) {
    out_.fault = why;
    return out_;
  }
  void take(const std::string& line) {
    static const std::regex meta(R"(# (TYPE|UNIT|HELP) ([a-zA-Z_:][a-zA-Z0-9_:]*) (.+))");
    std::smatch found;
    if (line.starts_with("#")) {
      if (!std::regex_match(line, found, meta)) stop("metadata: " + line);
      else metadata(found[1], found[2], found[3], line);
    } else {
      sample(line);
    }
  }
  void metadata(const std::string& what, const std::string& name, const std::string& value, const std::string& line) {
    if (name != family_) {
      if (!families_.insert(name).second) stop("a family comes twice: " + line);
      family_ = name;
      type_.clear();
      seen_.clear();
      sampled_ = false;
    }
    if (sampled_ || !seen_.insert(what).second) stop("metadata late or twice: " + line);
    if (what == "TYPE") type_ = value;
    if (what == "UNIT" && !name.ends_with("_" + value)) stop("the unit is not the end of the name: " + line);
  }
  void sample(const std::string& line) {
    static const std::regex form(
        R"re(([a-zA-Z_:][a-zA-Z0-9_:]*)(\{([a-zA-Z_][a-zA-Z0-9_]*="([^"\\\n]|\\["\\n])*",?)*\})? ([-+.0-9eE]+|NaN|[-+]Inf))re");
    std::smatch found;
    if (!std::regex_match(line, found, form)) return void(stop("sample: " + line));
    const std::map<std::string, std::string> suffix{{"counter", "_total"}, {"gauge", ""}, {"info", "_info"}};
    if (!suffix.contains(type_)) return void(stop("no known type: " + line));
    if (found[1] != family_ + suffix.at(type_)) return void(stop("not of its family: " + line));
    sampled_ = true;
    const double value = std::stod(found[5]);
    if (type_ == "counter" && !(value >= 0)) stop("a counter below 0: " + line);
    if (!out_.samples.emplace(found[1].str() + found[2].str(), value).second) stop("a sample comes twice: " + line);
  }

  Reading out_;
  std::string family_, type_;
  std::set<std::string> families_, seen_;
  bool sampled_ = false;
};

Snapshot busy() {
  Snapshot now;
  now.version = "0.1.0";
  now.session = "open";
  now.ticks = 12'345'678'901'234;
  now.engine = {{"trades", 7}, {"duplicates", 0}};
  now.feeds.resize(1);
  now.feeds[0].name = "first \"best\"\\\nfeed";
  now.feeds[0].lag_seconds = 0.25;
  now.feeds[0].recognised = {{"repeated", 5}, {"disordered", 0}};
  now.recording.on = true;
  now.recording.frames = 11;
  now.recording.dropped_ticks = 4;
  now.channels.resize(1);
  now.channels[0].name = "mail";
  now.channels[0].delivered = 3;
  now.watches.resize(1);
  now.watches[0].symbol = "KLVN";
  now.watches[0].volume.why_not = NoJudgement::none;
  now.watches[0].volume.odds = 0.94;
  now.notices_by_kind = {{"crossed", 2}, {"opened-over", 0}};
  now.projection_errors = {{60, 12, 0.163, -0.02}};
  return now;
}

TEST(Metrics, AStrictReaderTakesThem) {
  const Reading reading = Reader().read(metrics_text(busy()));
  EXPECT_EQ(reading.fault, "");
  EXPECT_EQ(reading.samples.at("brimwatch_ticks_total"), 12'345'678'901'234.0);
  EXPECT_EQ(reading.samples.at("brimwatch_engine_events_total{kind=\"trades\"}"), 7);
  EXPECT_EQ(reading.samples.at("brimwatch_deliveries_total{channel=\"mail\",outcome=\"delivered\"}"), 3);
  EXPECT_EQ(reading.samples.at("brimwatch_notices_of_kind_total{kind=\"crossed\"}"), 2);
  EXPECT_EQ(reading.samples.at("brimwatch_projection_error_ratio{minutes=\"60\"}"), 0.163);
  EXPECT_EQ(reading.samples.at("brimwatch_projection_bias_ratio{minutes=\"60\"}"), -0.02);
  EXPECT_EQ(reading.samples.at("brimwatch_projection_stocks{minutes=\"60\"}"), 12);
  EXPECT_EQ(reading.samples.at("brimwatch_recorded_total{what=\"frames\"}"), 11);
  EXPECT_EQ(reading.samples.at("brimwatch_recording_dropped_total{what=\"ticks\"}"), 4);
}

/// One sample of what is written, or -1.
double sample(const Snapshot& now, const std::string& name) {
  const Reading reading = Reader().read(metrics_text(now));
  EXPECT_EQ(reading.fault, "");
  const auto found = reading.samples.find("brimwatch_" + name);
  return found == reading.samples.end() ? -1 : found->second;
}

/// Well, in session, its one feed giving.
Snapshot well() {
  Snapshot now = busy();
  now.feeds[0].carrying = now.feeds[0].up = true;
  now.upkeep.started = Timestamp{1'764'000'000'500'000'000};
  return now;
}

TEST(Metrics, WhatOneWantsToBeCalledFor) {
  EXPECT_EQ(sample(well(), "ready"), 1);
  EXPECT_EQ(sample(well(), "blind"), 0);
  EXPECT_EQ(sample(well(), "start_time_seconds"), 1'764'000'000.5);
  EXPECT_EQ(sample(well(), "reload_refused"), 0);
  EXPECT_EQ(sample(well(), "journal_bytes"), -1) << "not measured yet";
  EXPECT_EQ(sample(well(), "heartbeat_failing"), -1) << "there is none";
  EXPECT_EQ(sample(well(), "delivery_oldest_seconds{channel=\"mail\"}"), 0);

  Snapshot now = well();
  now.upkeep.reloads_refused = 2;
  now.configuration.refused = "brimwatch.toml:3:1: ...";
  now.upkeep.journal_bytes = 2'800'000'000;
  now.upkeep.log_lines_dropped = 9;
  now.upkeep.has_heartbeat = true;
  now.upkeep.heartbeats = 5, now.upkeep.heartbeats_failed = 3, now.upkeep.heartbeat_failing = true;
  now.channels[0].oldest_seconds = 301.5;
  now.channels[0].in_trouble = true;
  EXPECT_EQ(sample(now, "reload_refused"), 1);
  EXPECT_EQ(sample(now, "reloads_total{outcome=\"refused\"}"), 2);
  EXPECT_EQ(sample(now, "journal_bytes"), 2'800'000'000);
  EXPECT_EQ(sample(now, "log_lines_dropped_total"), 9);
  EXPECT_EQ(sample(now, "heartbeat_failing"), 1);
  EXPECT_EQ(sample(now, "heartbeats_total{outcome=\"failed\"}"), 3);
  EXPECT_EQ(sample(now, "heartbeats_total{outcome=\"answered\"}"), 2);
  EXPECT_EQ(sample(now, "delivery_oldest_seconds{channel=\"mail\"}"), 301.5);
  EXPECT_EQ(sample(now, "channel_in_trouble{channel=\"mail\"}"), 1);
}

/// Among them a feed that has never been connected: it has no age of a last tick at all.
TEST(Readiness, IsLostByWhatKeepsNoticesFromBeingToldOrKept) {
  EXPECT_EQ(readiness_text(well()), "ready\n");
  const auto amiss = [](auto change) {
    Snapshot now = well();
    change(now);
    EXPECT_EQ(sample(now, "ready"), 0);
    return readiness_text(now);
  };
  EXPECT_EQ(amiss([](Snapshot& now) { now.watches.clear(); }), "not ready\nthe watch lists are empty\n");
  EXPECT_EQ(amiss([](Snapshot& now) { now.watches[0].in_force = false; }), "not ready\nno watch is in force today\n");
  EXPECT_EQ(amiss([](Snapshot& now) { now.feeds.clear(); }), "not ready\nno feed is in force\n");
  EXPECT_EQ(amiss([](Snapshot& now) { now.feeds[0] = FeedRow{}; }),
            "not ready\nthe exchange is open and no feed gives\n");
  EXPECT_EQ(amiss([](Snapshot& now) { now.journal_trouble = "disk full"; }),
            "not ready\nthe journal cannot be used: disk full\n");
  EXPECT_EQ(amiss([](Snapshot& now) { now.channels[0].in_trouble = true; }), "not ready\nno channel gets through\n");
}

TEST(Readiness, AsksNothingOfAFeedWhileTheExchangeIsClosedNorOfWhoStandsBy) {
  Snapshot now = well();
  now.session = "closed";
  now.feeds[0].carrying = false;
  EXPECT_EQ(readiness_text(now), "ready\n");
  now.feeds.clear();
  now.shared.on = true, now.shared.name = "desk", now.shared.speaker = "attic";
  EXPECT_EQ(readiness_text(now), "ready\n");
}

TEST(Metrics, AnEmptyDaemonHasFiguresToo) { EXPECT_EQ(Reader().read(metrics_text(Snapshot{})).fault, ""); }

TEST(Metrics, WhatIsNotKnownHasNoSample) {
  const std::string text = metrics_text(busy());
  EXPECT_THAT(text, HasSubstr("brimwatch_feed_lag_seconds{feed=\"first \\\"best\\\"\\\\\\nfeed\"} 0.25\n"));
  EXPECT_THAT(text, testing::Not(HasSubstr("brimwatch_feed_silent_seconds{")));
}

TEST(Metrics, TheReaderOfThisTestIsStrict) {
  const auto fault = [](const char* text) { return Reader().read(text).fault; };
  EXPECT_NE(fault("# TYPE a gauge\na 1\n"), "");
  EXPECT_NE(fault("# TYPE a counter\na 1\n# EOF\n"), "");
  EXPECT_NE(fault("# TYPE a gauge\na 1\na 2\n# EOF\n"), "");
  EXPECT_NE(fault("# TYPE a gauge\na{b=\"\\x\"} 1\n# EOF\n"), "");
  EXPECT_NE(fault("# TYPE a gauge\na 1\n# TYPE b gauge\nb 1\n# TYPE a gauge\n# EOF\n"), "");
  EXPECT_NE(fault("# TYPE a gauge\n# UNIT a seconds\na 1\n# EOF\n"), "");
}

}  // namespace
}  // namespace brimwatch
