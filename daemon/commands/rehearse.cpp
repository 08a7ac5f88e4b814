// brimwatch rehearse [TAPE]: the whole set-up on a day that is past or was never there: the configuration's watches,
// page and channels, a feed that is played beside it, a journal of its own. Everything it says is marked, and it ends by
// itself.
#include <algorithm>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <functional>
#include <memory>
#include <numeric>
#include <set>
#include <string>
#include <thread>

#include "app/daemon.h"
#include "commands/command.h"
#include "commands/load.h"
#include "commands/rehearsal_server.h"
#include "config/loader.h"
#include "config/paths.h"
#include "desk/histories.h"
#include "files/daily_file.h"
#include "files/own_files.h"
#include "journal/journal.h"
#include "loop/clock.h"
#include "rehearsal/invented_day.h"
#include "tape/writer.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

constexpr std::size_t kStocksMost = 40;  ///< of an invented day: each needs its time on the screen
constexpr double kUsualSpeed = 120;
/// After the last tick: the daemon's patience with a source that stutters, the minutes until a day counts as ended, and a
/// moment for the last notices to go out.
constexpr double kPatienceSeconds = 8, kUntilEndedSeconds = 11 * 60;
constexpr double kInventedSeconds = 2;  ///< an invented day has its end on the tape

struct RehearseArguments {
  std::string tape, journal;
  double speed = kUsualSpeed;
};

Watch invented_watch(const char* symbol, std::int64_t cents, const Settings& settings) {
  Watch watch;
  watch.symbol = symbol;
  watch.note = "an invented stock";
  watch.calendar = settings.session.calendar;
  watch.pivot = Price{cents * 10'000};
  watch.normal_volume = Shares::whole(1'200'000);
  watch.rules = settings.rules;
  set_levels(watch);
  return watch;
}

/// So that there is something to see on the first evening, before a list is written.
void add_invented_watches(Settings& settings) {
  if (!settings.watches.empty()) return;
  print_error("brimwatch rehearse: no watches are configured; seven invented stocks are played\n");
  constexpr std::pair<const char*, std::int64_t> kStocks[] = {
      {"KLVN", 4835}, {"ORRJ", 11260}, {"QUOL", 8740}, {"DRYJ", 3590}, {"TZAM", 2370}, {"VEZK", 6415}, {"FADJ", 7605}};
  for (const auto& [symbol, cents] : kStocks) settings.watches.push_back(invented_watch(symbol, cents, settings));
}

/// Shares of a normal day: as the list gives it, or the mean of the last daily bars; 0: not known.
double normal_of(const Settings& settings, std::size_t watch) {
  constexpr std::size_t kSessions = 50;
  if (const auto given = settings.watches.normal_volume(watch)) return given->as_double();
  if (settings.history.daily.empty()) return 0;
  DailyStore store(settings.history.daily);
  const auto history = make_history(store.read(settings.watches.symbol(watch), DailyRows::every), {}, {}, kVolumeRows);
  if (!history || history->bars.empty()) return 0;
  const std::vector<DailyBar>* const bars = &history->bars;
  const std::size_t count = std::min(kSessions, bars->size());
  const auto add = [](double sum, const DailyBar& bar) { return sum + bar.volume; };
  return std::accumulate(bars->end() - static_cast<std::ptrdiff_t>(count), bars->end(), 0.0, add) / double(count);
}

/// The first watches of a list, a symbol once.
std::vector<InventedStock> stocks_of(const Settings& settings, SymbolTable& symbols) {
  const WatchList& watches = settings.watches;
  std::vector<InventedStock> out;
  std::set<std::string> seen;
  for (std::size_t i = 0; i < watches.size() && out.size() < kStocksMost; ++i) {
    if (!seen.insert(watches.symbol(i)).second) continue;
    out.push_back({symbols.intern(watches.symbol(i)), watches.pivot(i), tick_at(watches.rules(i), watches.pivot(i)),
                   normal_of(settings, i)});
  }
  return out;
}

/// The last session of full length that is over.
Result<InventedSession> last_session(const SessionSettings& wanted) {
  const auto calendar = Calendar::load(wanted.calendar, wanted.calendar_files);
  if (!calendar) return tl::unexpected(calendar.error());
  const Session* session = (*calendar)->before((*calendar)->local_date(wall_now()));
  while (session != nullptr && session->half_day) session = (*calendar)->before(session->day);
  if (session == nullptr) return fail("the calendar has no session before today");
  return InventedSession{session->open, session->close};
}

Result<std::string> write_invented_tape(const Settings& settings, const std::string& folder) {
  const auto session = last_session(settings.session);
  if (!session) return tl::unexpected(session.error());
  SymbolTable symbols;
  const std::vector<InventedStock> stocks = stocks_of(settings, symbols);
  const std::string path = folder + "/invented-day.csv.zst";
  auto tape = TapeWriter::create(path);
  if (!tape) return tl::unexpected(tape.error());
  for (const Tick& tick : invented_day(stocks, *session, 1)) {
    if (const auto written = (*tape)->write(tick, symbols.name(tick.symbol)); !written)
      return tl::unexpected(written.error());
  }
  if (const auto closed = (*tape)->close(); !closed) return tl::unexpected(closed.error());
  return path;
}

/// The feed that reads what is played, made by the same loader as every other.
Result<FeedSettings> played_feed(const std::string& configuration, const std::string& folder) {
  const std::string path = folder + "/feed.toml";
  if (const auto written = replace_file(path, configuration); !written) return tl::unexpected(written.error());
  Loaded loaded = load_settings(path);
  if (!loaded.ok() || loaded.settings.feeds.empty())
    return fail(loaded.problems.empty() ? "no feed" : to_string(loaded.problems.front()));
  return std::move(loaded.settings.feeds.front());
}

/// What must not be touched by a day that is played: recordings, the history of days, signs of life and other machines,
/// and the evening's mail of a day that its user knows already.
void keep_from_the_world(Settings& settings) {
  settings.record = {};
  settings.life = {};
  settings.evening.review_at.clear();
  settings.shared = {};
  settings.history.keep_days = false;
  settings.history.source = settings.history.splits_source = settings.history.earnings_source = {};
  const bool everybody = settings.page.everybody;
  settings.page = {};
  settings.page.on = true;
  settings.page.everybody = everybody;
}

/// Plays on a thread of its own; `ended` is called there once the day is over and its notices had time to go out.
class Player {
 public:
  static Result<std::unique_ptr<Player>> open(const RehearsalOptions& options, double grace_seconds,
                                              std::function<void()> ended) {
    std::unique_ptr<Player> out(new Player(std::move(ended), grace_seconds));
    Player* const self = out.get();
    auto server = RehearsalServer::open(out->io_, options, [self](const std::string& line) { self->hear(line); });
    if (!server) return tl::unexpected(server.error());
    out->server_ = std::move(*server);
    return out;
  }
  ~Player() {
    io_.stop();
    if (thread_.joinable()) thread_.join();
  }
  Player(const Player&) = delete;
  Player& operator=(const Player&) = delete;

  [[nodiscard]] std::string configuration() const { return server_->configuration(); }
  void start() {
    thread_ = std::thread([this] { io_.run(); });
  }

 private:
  Player(std::function<void()> ended, double grace_seconds)
      : ended_(std::move(ended)), after_the_end_(static_cast<std::int64_t>(1000 * grace_seconds)), grace_(io_) {}

  void hear(const std::string& line) {
    if (!line.starts_with("the tape has ended")) return;
    grace_.expires_after(after_the_end_);
    grace_.async_wait([this](const boost::system::error_code& error) {
      if (!error) ended_();
    });
  }

  std::function<void()> ended_;
  std::chrono::milliseconds after_the_end_;
  boost::asio::io_context io_{1};
  boost::asio::steady_timer grace_;
  std::unique_ptr<RehearsalServer> server_;
  std::thread thread_;
};

void sum_up(const std::string& journal, bool is_kept) {
  auto opened = Journal::open_read_only(journal, {.check = false});
  std::size_t count = 0;
  if (opened)
    if (const auto notices = (*opened)->notices({})) count = notices->size();
  print_error("brimwatch rehearse: ended with %zu notice%s; %s%s\n", count, count == 1 ? "" : "s",
              is_kept ? "read them with: brimwatch journal --journal " : "--journal FILE keeps them next time",
              is_kept ? journal.c_str() : "");
}

int play(Settings settings, const RehearseArguments& arguments, const CommandContext& context,
         const std::string& folder) {
  RehearsalOptions options;
  options.tape = arguments.tape;
  options.speed = arguments.speed;
  options.calendar = settings.session.calendar;
  if (options.tape.empty()) {
    add_invented_watches(settings);
    const auto tape = write_invented_tape(settings, folder);
    if (!tape) return tell(tape.error(), kFailed);
    options.tape = *tape;
  }
  std::unique_ptr<Daemon> daemon;
  const double grace =
      arguments.tape.empty() ? kInventedSeconds : kPatienceSeconds + kUntilEndedSeconds / arguments.speed;
  auto player = Player::open(options, grace, [&daemon] { daemon->end("the day is over"); });
  if (!player) return tell(player.error(), kBadInput);
  auto feed = played_feed((*player)->configuration(), folder);
  if (!feed) return tell(feed.error(), kFailed);
  settings.feeds = {std::move(*feed)};
  keep_from_the_world(settings);
  const std::string journal = arguments.journal.empty() ? folder + "/journal.db" : arguments.journal;
  DaemonPlaces places{config_file(context.config), journal, folder + "/control.sock", journal + ".lock"};
  places.reloads = false;
  daemon = std::make_unique<Daemon>(std::move(settings), places);
  print_error(
      "brimwatch rehearse: %s at %g times its speed; Ctrl-C ends it. To look at it:\n"
      "  brimwatch now --follow --socket %s\n",
      arguments.tape.empty() ? "an invented day" : arguments.tape.c_str(), arguments.speed, places.socket.c_str());
  (*player)->start();
  const int status = daemon->run();
  player->reset();
  sum_up(journal, !arguments.journal.empty());
  return status;
}

int run_rehearsal(const RehearseArguments& arguments, const CommandContext& context) {
  auto settings = load_or_tell(context);
  if (!settings) return kBadConfig;
  const auto folder = TemporaryFolder::make();
  if (!folder) return tell(folder.error(), kFailed);
  if (!arguments.journal.empty() && inode_at(arguments.journal) != 0) {
    return tell(Error{"--journal: " + arguments.journal + " is there already; a rehearsal begins with a new one"},
                kUsage);
  }
  return play(std::move(*settings), arguments, context, folder->path());
}

}  // namespace

void add_rehearse(CLI::App& root, CommandContext& context) {
  auto arguments = std::make_shared<RehearseArguments>();
  CLI::App* command =
      root.add_subcommand("rehearse", "Play a whole day through the configured watches, page and channels, and end");
  command->add_option("-c,--config", context.config, "Configuration file (default: the place XDG gives)")
      ->type_name("FILE");
  command->add_option("tape", arguments->tape, "A recorded day (default: an invented one around the watches' pivots)")
      ->type_name("TAPE");
  command->add_option("--speed", arguments->speed, "Times real time: 120 plays a day in a little over three minutes")
      ->check(CLI::Range(1.0, 10'000.0))
      ->capture_default_str()
      ->type_name("N");
  command->add_option("--journal", arguments->journal, "Keep the rehearsal's journal in this new file")
      ->type_name("FILE");
  command->footer(
      "Notices go out through the channels as usual, each marked \"Rehearsal:\". The page is shown on a port of "
      "its own. The daemon that is running, its journal, recordings and signs of life are not touched. For a source that "
      "misbehaves: brimwatch serve.\n\nExamples:\n  brimwatch rehearse\n  brimwatch rehearse monday.csv.zst --speed 60");
  command->callback([arguments, &context] { context.exit = run_rehearsal(*arguments, context); });
}

}  // namespace brimwatch
