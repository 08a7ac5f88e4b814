// brimwatch feeds try: connects to a quote feed as `run` would, says each step, listens for a while and says what came.
#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapters/feed.h"
#include "adapters/feeds/context.h"
#include "adapters/feeds/table.h"
#include "adapters/feeds/template.h"
#include "commands/feeds/feeds.h"
#include "commands/feeds/heard.h"
#include "commands/load.h"
#include "config/secret.h"
#include "core/text/json.h"
#include "core/text/text.h"
#include "loop/clock.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

struct TryOptions {
  std::string name;
  std::vector<std::string> symbols;
  int seconds = 30;
  std::uint64_t messages = 0;  ///< enough; 0: however many come
};

/// One feed, tried. What it hears goes to `heard`; each step is said as it is done.
class Attempt : public FeedListener {
 public:
  Attempt(const FeedSettings& settings, std::vector<std::string> symbols, const TryOptions& options, bool json)
      : settings_(settings),
        symbols_(std::move(symbols)),
        seconds_(options.seconds),
        messages_(options.messages),
        json_(json),
        timer_(io_),
        signals_(io_, SIGINT, SIGTERM) {}

  int run() {
    auto heard = Heard::make(settings_, symbols_, secret_text());
    if (!heard) return tell(heard.error(), kBadConfig);
    heard_.emplace(std::move(*heard));
    FeedContext context{io_,
                        table_,
                        wall_now,
                        steady_now,
                        [](LogLevel, std::string_view) {},
                        read_secret,
                        [] { return 0.5; },
                        [this](std::string_view step) { say("step", step); }};
    auto feed = make_feed(settings_, context);
    if (!feed) return tell(feed.error(), kBadConfig);
    say("step", "trying \"" + settings_.name + "\" (" + settings_.kind + ") with " + std::to_string(symbols_.size()) +
                    (symbols_.size() == 1 ? " symbol" : " symbols"));
    (*feed)->subscribe(symbols_);
    (*feed)->start(*this);
    wait();
    io_.run();
    health_ = (*feed)->health();
    say_goodbye(**feed);
    return report();
  }

 private:
  void on_ticks(std::span<const Tick>) override {}
  void on_frame(Timestamp received, std::string_view bytes) override {
    if (heard_->frames() == 0) say("step", "the first message is here");
    heard_->take(bytes, received);
    if (heard_->frames() == messages_) io_.stop();
  }
  void on_state(FeedState state, std::string_view text) override {
    if (state == FeedState::stopped) return;
    if (state == FeedState::up) was_up_ = true;
    say("step", text);
    if (state != FeedState::down && state != FeedState::ended) return;
    ended_ = state == FeedState::ended ? "" : std::string(text);
    io_.stop();
  }
  void on_remark(std::string_view text) override { say("remark", text); }
  void on_refusal(std::string_view text) override {
    refusal_ = text;
    say("refused", text);
  }

  /// The source may count connections: it is told that this one ends.
  void say_goodbye(Feed& feed) {
    feed.stop();
    timer_.cancel();
    signals_.cancel();
    io_.restart();
    io_.run_for(std::chrono::milliseconds(500));
  }

  /// Only to be blotted out wherever it would show.
  [[nodiscard]] std::string secret_text() const {
    if (settings_.secret.kind == SecretSource::Kind::none) return {};
    const auto secret = read_secret(settings_.secret);
    return secret ? secret->text() : std::string();
  }

  void wait() {
    timer_.expires_after(std::chrono::seconds(seconds_));
    timer_.async_wait([this](const boost::system::error_code& error) {
      if (!error) io_.stop();
    });
    signals_.async_wait([this](const boost::system::error_code& error, int) {
      if (!error) io_.stop();
    });
  }

  void say(const char* what, std::string_view text) const {
    const std::string line = clean_line(without_secret(std::string(text), secret_text()), 400);
    if (json_) write_json(stdout, json_line(OrderedJson{{what, line}}));
    else print_out("%s\n", wrap(line, 80, 2).c_str());
    std::fflush(stdout);
  }

  [[nodiscard]] std::vector<std::string> codes() const {
    std::vector<std::string> out;
    for (const auto& row : heard_->unknown_codes().rows())
      out.push_back(row.code + " (" + std::to_string(row.count) + ")");
    return out;
  }

  /// Why it would not work; empty: it would.
  [[nodiscard]] std::string trouble() const {
    if (!ended_.empty()) return ended_;
    if (!was_up_ && heard_->frames() == 0) return "not connected within " + std::to_string(seconds_) + " s";
    if (!refusal_.empty() && heard_->ticks() == 0) return "the source refused: " + refusal_;
    if (heard_->frames() == 0)
      return "connected, and nothing came in " + std::to_string(seconds_) + " s; outside the session that may be right";
    if (heard_->ticks() == 0) return "messages came, and none became a price; brimwatch feeds map proposes a mapping";
    if (heard_->unreadable() > heard_->ticks()) return "more messages could not be read than were used";
    return {};
  }

  int report() {
    const std::string why = trouble();
    if (json_) report_as_json(why);
    else report_as_text(why);
    return why.empty() ? kFine : kFailed;
  }

  [[nodiscard]] double rate() const {
    return static_cast<double>(heard_->frames()) / std::max(1.0, static_cast<double>(steady_now() - started_) / 1e9);
  }

  void report_as_json(const std::string& why) const {
    OrderedJson out{{"feed", settings_.name},     {"works", why.empty()},     {"why_not", why},
                    {"frames", heard_->frames()}, {"ticks", heard_->ticks()}, {"a_second", rate()}};
    out["sorts"] = OrderedJson::array();
    for (const HeardSort& sort : heard_->sorts()) {
      out["sorts"].push_back({{"name", sort.name},
                              {"messages", sort.messages},
                              {"first", sort.example},
                              {"values", sort.values},
                              {"why", sort.why}});
    }
    out["unknown_conditions"] = codes();
    out["not_heard"] = heard_->silent_symbols();
    if (const auto delays = heard_->delays(); !delays.empty())
      out["delay_s"] = {{"middle", delays[0]}, {"most", delays[1]}};
    write_json(stdout, json_line(out));
  }

  static std::string joined(const std::vector<std::string>& words, std::size_t most = 20) {
    std::string out;
    for (std::size_t i = 0; i < std::min(words.size(), most); ++i) out += (out.empty() ? "" : ", ") + words[i];
    return words.size() > most ? out + " and " + std::to_string(words.size() - most) + " more" : out;
  }

  static void line(const std::string& text, std::size_t indent = 2) {
    print_out("%s\n", wrap(clean_line(text, 400), 80, indent).c_str());
  }

  static void show(const HeardSort& sort) {
    line(sort.name + ": " + std::to_string(sort.messages));
    print_out("%s\n", wrap("  first: " + clean_line(sort.example, 71), 80, 9).c_str());
    for (const std::string& value : sort.values) print_out("    %s\n", value.substr(0, 76).c_str());
    if (!sort.why.empty()) print_out("%s\n", wrap("    " + clean_line(sort.why, 300), 80, 4).c_str());
  }

  void report_as_text(const std::string& why) const {
    char speed[96];
    std::snprintf(speed, sizeof speed, "%llu messages, %.1f a second; %llu became ticks",
                  static_cast<unsigned long long>(heard_->frames()), rate(),
                  static_cast<unsigned long long>(heard_->ticks()));
    if (heard_->frames() > 0) line(speed);
    for (const HeardSort& sort : heard_->sorts()) show(sort);
    if (const auto unknown = codes(); !unknown.empty()) {
      line("sale conditions that nothing maps (such a trade adds volume and moves no price): " + joined(unknown) +
           "; condition_words maps them");
    }
    if (const auto silent = heard_->silent_symbols(); !silent.empty() && heard_->frames() > 0)
      line("asked for and not heard: " + joined(silent));
    report_delay();
    if (why.empty()) print_out("it works\n");
    else print_out("%s\n", wrap("it does not work: " + clean_line(why, 300), 80, 2).c_str());
  }

  void report_delay() const {
    const auto delays = heard_->delays();
    if (delays.empty()) return;
    if (settings_.rehearsal > 0) return line("the source plays a past day: how late it is says nothing");
    char text[128];
    std::snprintf(text, sizeof text, "delay between the exchange's time and ours: %.1f s in the middle, %.1f s at most",
                  delays[0], delays[1]);
    line(text);
    if (delays[0] < -2) line("times lie ahead of ours: is time_zone, or time_format, right?");
    else if (delays[0] > static_cast<double>(settings_.late_after.count()))
      line("that is later than late_after: every notice would say so");
  }

  const FeedSettings settings_;
  const std::vector<std::string> symbols_;
  const int seconds_;
  const std::uint64_t messages_;
  const bool json_;
  boost::asio::io_context io_;
  boost::asio::steady_timer timer_;
  boost::asio::signal_set signals_;
  SymbolTable table_;
  std::optional<Heard> heard_;
  FeedHealth health_;
  bool was_up_ = false;
  std::string ended_, refusal_;
  Nanos started_ = steady_now();
};

const FeedSettings* chosen_feed(const Settings& settings, const std::string& name, std::string& known) {
  for (const FeedSettings& feed : settings.feeds) {
    known += (known.empty() ? "" : ", ") + feed.name;
    if (feed.kind != "tape" && (name.empty() ? feed.enabled : feed.name == name)) return &feed;
  }
  return nullptr;
}

std::vector<std::string> wanted_symbols(const Settings& settings, const TryOptions& options) {
  if (!options.symbols.empty()) return options.symbols;
  const auto& all = settings.watches.symbols();
  return {all.begin(), all.end()};
}

int try_feed(const CommandContext& context, const TryOptions& options) {
  const auto settings = load_or_tell(context);
  if (!settings) return kBadConfig;
  std::string known;
  const FeedSettings* feed = chosen_feed(*settings, options.name, known);
  if (feed == nullptr && known.empty())
    return tell(Error{"no [[feed]] is configured, so there is nothing to try"}, kFailed);
  if (feed == nullptr) {
    return tell(Error{"no feed \"" + options.name + "\" that can be tried; there are: " + known +
                      " (a tape is tried with brimwatch replay)"},
                kUsage);
  }
  const auto symbols = wanted_symbols(*settings, options);
  if (symbols.empty()) {
    return tell(
        Error{"nothing is watched, so the source would be asked for nothing; name symbols with --symbols KLVN,NIVO"},
        kUsage);
  }
  return Attempt(*feed, symbols, options, context.json).run();
}

}  // namespace

void add_feeds_try(CLI::App& feeds, CommandContext& context) {
  auto options = std::make_shared<TryOptions>();
  CLI::App* command =
      feeds.add_subcommand("try", "Connect as run would, report each step, and show what comes and how it is read");
  add_common(*command, context);
  command->add_option("name", options->name, "The feed, also one that is switched off (default: the first that is on)")
      ->type_name("NAME");
  command->add_option("--symbols", options->symbols, "Ask for these (default: all that are watched)")
      ->type_name("SYMBOL")
      ->delimiter(',')
      ->allow_extra_args(false);
  command->add_option("--seconds", options->seconds, "How long to listen; Ctrl-C ends it earlier")
      ->type_name("N")
      ->check(CLI::Range(1, 3600))
      ->capture_default_str();
  command->add_option("--messages", options->messages, "Stop after this many messages (default: no limit)")
      ->type_name("N")
      ->check(CLI::Range(1, 1'000'000));
  command->footer(
      "Exits with 0 when it would work: connected, and messages became prices; otherwise with 1 and the reason. Nothing "
      "is "
      "written, and secrets are never shown.\n\nExamples:\n  brimwatch feeds try\n  brimwatch feeds try socket --symbols "
      "KLVN,NIVO --seconds 10");
  command->callback([options, &context] { context.exit = try_feed(context, *options); });
}

}  // namespace brimwatch
