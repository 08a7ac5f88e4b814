#include "app/history_round.h"

#include <algorithm>
#include <filesystem>
#include <utility>

#include "core/text/text.h"

namespace brimwatch {
namespace {

constexpr std::size_t kFailuresKept = 100, kFailuresTold = 3;
constexpr int kReportsAhead = 90, kSplitsAhead = 60;  // calendar days

bool asks_by_symbol(const HistorySource& source) { return source.url.find("{symbol}") != std::string::npos; }

bool make_folder(const std::string& folder) {
  std::error_code error;
  if (folder.empty() || std::filesystem::exists(folder, error)) return true;
  return std::filesystem::create_directories(folder, error);
}

/// Its first words, and what the source itself says: what we guess stands in the log, and a line of the morning has not
/// room for all of it.
std::string in_short(const std::string& why) {
  constexpr std::size_t kMost = 80;
  const std::size_t end = why.starts_with("the source answered") ? why.find(": ") : std::string::npos;
  const bool quoted = end != std::string::npos && why.compare(end, 3, ": \"") == 0;
  return clean_line(quoted ? why : why.substr(0, end), kMost);
}

/// " (KLVN, NIVO: the source answered HTTP 404; ORRJ: ...)": the first few, those of one reason together. The symbol may
/// be empty.
std::string reasons(const std::vector<std::pair<std::string, std::string>>& symbol_and_why, std::size_t count) {
  std::vector<std::pair<std::string, std::string>> named;  // why, and whose it is
  for (std::size_t i = 0; i < std::min(symbol_and_why.size(), kFailuresTold); ++i) {
    const auto& [symbol, error] = symbol_and_why[i];
    const std::string why = in_short(error);
    const auto same = std::find_if(named.begin(), named.end(), [&](const auto& one) { return one.first == why; });
    if (same == named.end()) named.emplace_back(why, symbol);
    else if (!symbol.empty()) same->second += ", " + symbol;
  }
  std::string out = " (";
  for (const auto& [why, whose] : named) out += (out.size() > 2 ? "; " : "") + (whose.empty() ? "" : whose + ": ") + why;
  return out + (count > kFailuresTold ? "; ...)" : ")");
}

}  // namespace

bool has_history_source(const Settings& settings) {
  return settings.history.source.is_set() && !settings.history.daily.empty();
}

HistoryRound::HistoryRound(World world, std::shared_ptr<const Settings> settings)
    : world_(std::move(world)), settings_(std::move(settings)) {}

void HistoryRound::start(Wish wish, OnUpdate on_update, OnEnd on_end) {
  wish_ = std::move(wish);
  on_update_ = std::move(on_update);
  on_end_ = std::move(on_end);
  if (wish_.symbols.empty()) wish_.symbols = symbols_to_update(*settings_);
  result_.symbols = wish_.symbols.size();
  plan();
}

/// Which days are wanted stands in the files.
void HistoryRound::plan() {
  const auto wanted = std::make_shared<std::vector<DaysWanted>>();
  run_aside(
      [settings = settings_, wish = wish_, wanted] {
        clear_unfinished(*settings);
        if (!has_history_source(*settings)) return;
        (void)make_folder(settings->history.daily);
        for (const std::string& symbol : wish.symbols)
          if (auto one = days_wanted(*settings, symbol, wish.last_session, wish.only_missing))
            wanted->push_back(std::move(*one));
      },
      [this, wanted] { fetch(*wanted); });
}

void HistoryRound::fetch(const std::vector<DaysWanted>& wanted) {
  result_.asked = wanted.size();
  if (wanted.empty()) return finish_days();
  std::vector<HistoryWish> wishes;
  if (asks_by_symbol(settings_->history.source)) {
    for (const DaysWanted& one : wanted) wishes.push_back({one.symbol, one.from, one.to});
  } else {
    Date from = wish_.last_session;
    for (const DaysWanted& one : wanted) from = std::min(from, one.from);
    wishes.push_back({"", from, wish_.last_session});
  }
  open_ = wishes.size();
  fetcher_ = std::make_unique<HistoryFetcher>(world_.io, settings_->history.source, world_.wall);
  fetcher_->start(std::move(wishes),
                  [this](const HistoryWish& wish, Result<HistoryPages> pages) { on_pages(wish, std::move(pages)); });
}

void HistoryRound::on_pages(const HistoryWish& wish, Result<HistoryPages> pages) {
  if (!pages) {
    SymbolUpdate failed;
    failed.symbol = wish.symbol;
    failed.error = pages.error().text;
    return take({failed});
  }
  const bool whole =
      std::any_of(again_.begin(), again_.end(), [&](const DaysWanted& one) { return one.symbol == wish.symbol; });
  const auto updates = std::make_shared<std::vector<SymbolUpdate>>();
  run_aside(
      [settings = settings_, wish, whole, all = wish_, updates, pages = std::move(*pages)] {
        if (wish.symbol.empty()) *updates = take_all_days(*settings, all.symbols, pages, all.last_session);
        else *updates = {take_days(*settings, {wish.symbol, wish.from, wish.to, whole}, pages, all.last_session)};
      },
      [this, updates] { take(std::move(*updates)); });
}

void HistoryRound::take(std::vector<SymbolUpdate> updates) {
  for (SymbolUpdate& update : updates) {
    if (update.again) {
      again_.push_back(*update.again);
      return fetcher_->add({update.symbol, update.again->from, update.again->to});
    }
    on_update_(update);
    result_.changed += update.error.empty() && !update.words.empty() ? 1 : 0;
    result_.failures += update.error.empty() ? 0 : 1;
    if (update.split != 1) result_.split.push_back(update);
    if (!update.error.empty() && result_.failed.size() < kFailuresKept) result_.failed.push_back(std::move(update));
  }
  if (--open_ == 0) finish_days();
}

void HistoryRound::finish_days() {
  if (fetcher_ != nullptr) result_.counts = fetcher_->counts();
  fetch_events(EventsKind::splits);
}

/// Of each source that is named; the round ends behind the last.
void HistoryRound::fetch_events(EventsKind kind) {
  const HistorySettings& history = settings_->history;
  const bool splits = kind == EventsKind::splits;
  const HistorySource& source = splits ? history.splits_source : history.earnings_source;
  const std::string& file = splits ? history.splits : history.earnings;
  if (source.is_set() && file.empty()) {
    failures_of(kind).push_back(splits ? "[history] names no file `splits` to put them into"
                                       : "[history] names no file `earnings` to put them into");
  }
  if (!source.is_set() || file.empty()) return splits ? fetch_events(EventsKind::reports) : on_end_(result_);
  const Date today = wish_.last_session;
  const Date from = today - source.again, to = today + (splits ? kSplitsAhead : kReportsAhead);
  std::vector<HistoryWish> wishes;
  if (asks_by_symbol(source)) {
    for (const std::string& symbol : wish_.symbols) wishes.push_back({symbol, from, to});
  } else {
    wishes.push_back({"", from, to});
  }
  open_ = wishes.size();
  if (open_ == 0) return splits ? fetch_events(EventsKind::reports) : on_end_(result_);
  fetcher_ = std::make_unique<HistoryFetcher>(world_.io, source, world_.wall);
  fetcher_->start(std::move(wishes), [this, kind](const HistoryWish& wish, Result<HistoryPages> pages) {
    on_events(kind, wish, std::move(pages));
  });
}

void HistoryRound::on_events(EventsKind kind, const HistoryWish& wish, Result<HistoryPages> pages) {
  const std::string file = kind == EventsKind::splits ? settings_->history.splits : settings_->history.earnings;
  const auto taken = std::make_shared<Result<EventsTaken>>();
  run_aside(
      [=, pages = std::move(pages)] {
        *taken = pages ? take_events(file, kind, *pages, wish.symbol) : tl::unexpected(pages.error());
      },
      [this, taken, wish, kind] {
        note_events(kind, wish.symbol, *taken);
        if (--open_ > 0) return;
        kind == EventsKind::splits ? fetch_events(EventsKind::reports) : on_end_(result_);
      });
}

void HistoryRound::note_events(EventsKind kind, const std::string& symbol, const Result<EventsTaken>& taken) {
  const std::string whose = symbol.empty() ? "" : symbol + " ";
  if (!taken) {
    std::vector<std::string>& failed = failures_of(kind);
    if (failed.size() < kFailuresKept) failed.push_back((symbol.empty() ? "" : symbol + ": ") + taken.error().text);
    return;
  }
  if (taken->added == 0 && taken->passed_over == 0) return;
  std::string words = whose + (kind == EventsKind::splits ? "splits: " : "report dates: ");
  words += std::to_string(taken->added) + " added";
  if (taken->passed_over > 0)
    words += ", " + std::to_string(taken->passed_over) + " passed over (" + taken->first_problem + ")";
  result_.event_words.push_back(std::move(words));
}

std::vector<std::string>& HistoryRound::failures_of(EventsKind kind) {
  return kind == EventsKind::splits ? result_.splits_failed : result_.reports_failed;
}

/// One after the other: two never write one file at once.
void HistoryRound::run_aside(std::function<void()> job, std::function<void()> then) {
  jobs_.push_back({std::move(job), std::move(then)});
  if (!job_in_hand_) next_job();
}

void HistoryRound::next_job() {
  if (jobs_.empty()) return;
  job_in_hand_ = true;
  Job job = std::move(jobs_.front());
  jobs_.pop_front();
  world_.aside(std::move(job.work), [this, alive = std::weak_ptr(alive_), then = std::move(job.then)] {
    if (alive.expired()) return;
    job_in_hand_ = false;
    then();
    if (!alive.expired() && !job_in_hand_) next_job();
  });
}

std::string in_words(const HistoryRoundResult& result) {
  const auto count = [](std::size_t n, const char* what) { return std::to_string(n) + " " + what; };
  std::string out = count(result.symbols, result.symbols == 1 ? "symbol: " : "symbols: ") +
                    count(result.changed, "updated, ") +
                    count(result.symbols - std::min(result.symbols, result.changed + result.failures), "as they were");
  if (result.failures > 0) out += ", " + count(result.failures, "failed");
  out += "; " + count(result.counts.requests, result.counts.requests == 1 ? "request" : "requests");
  if (result.counts.refused > 0) out += ", " + count(result.counts.refused, "put off by the source");
  if (result.counts.again > 0) out += ", " + count(result.counts.again, "asked again");
  for (const std::string& words : result.event_words) out += "; " + words;
  for (const std::string& why : result.splits_failed) out += "; splits: " + why;
  for (const std::string& why : result.reports_failed) out += "; report dates: " + why;
  return out;
}

std::string failures_in_words(const HistoryRoundResult& result, const std::string& index) {
  std::vector<std::pair<std::string, std::string>> bars;
  std::string of_index, out;
  for (const SymbolUpdate& one : result.failed) {
    bars.emplace_back(one.symbol.empty() ? "all" : one.symbol, one.error);
    if (!index.empty() && (one.symbol == index || one.symbol.empty()))
      of_index = "; the market's trend rests on the index's older bars";
  }
  std::sort(bars.begin(), bars.end());  // they come in the order of their answers
  if (result.failures > 0)
    out = "daily bars of " + std::to_string(result.failures) + " of " + std::to_string(result.symbols) +
          " symbols could not be fetched" + reasons(bars, result.failures) +
          ": their volume is judged by older days, and not at all where there are none" + of_index;
  const auto add = [&out](const std::vector<std::string>& why, const char* what) {
    std::vector<std::pair<std::string, std::string>> all;
    for (const std::string& one : why) all.emplace_back("", one);
    if (!why.empty()) out += (out.empty() ? "" : "; ") + std::string(what) + reasons(all, all.size());
  };
  add(result.splits_failed, "splits could not be fetched, and new ones are not known");
  add(result.reports_failed, "report dates could not be fetched, and new ones are not told with a crossing");
  return out;
}

}  // namespace brimwatch
