#include "app/history_keeper.h"

#include <boost/asio/post.hpp>
#include <utility>

#include "history/take_split.h"

namespace brimwatch {
namespace {

constexpr Nanos kLookEvery = 2 * kSecond;

bool has_anything_to_fetch(const Settings& settings) {
  return has_history_source(settings) || settings.history.splits_source.is_set() ||
         settings.history.earnings_source.is_set();
}

}  // namespace

void HistoryKeeper::on_beat() {
  const Timestamp now = world_.wall();
  if (round_ != nullptr || now - looked_ < kLookEvery) return;
  looked_ = now;
  const Settings& settings = world_.settings();
  if (!has_anything_to_fetch(settings)) return;
  const Nanos after = static_cast<Nanos>(settings.history.fetch_after) * kMinute;
  if (const auto session = clock_.due(now, world_.calendar(), after)) begin(*session);
}

void HistoryKeeper::begin(Date last_session) {
  round_ = std::make_unique<HistoryRound>(
      HistoryRound::World{world_.io, world_.wall,
                          [this](std::function<void()> job, std::function<void()> then) {
                            if (!world_.aside(std::move(job), std::move(then)))
                              boost::asio::post(world_.io, [this] { abandon("too much waits for the disk"); });
                          }},
      std::make_shared<const Settings>(world_.settings()));
  round_->start(
      {{}, last_session, true}, [this](const SymbolUpdate& update) { on_update(update); },
      [this](const HistoryRoundResult& result) { on_end(result); });
}

void HistoryKeeper::abandon(const std::string& why) {
  if (round_ == nullptr) return;
  round_.reset();
  clock_.done(world_.wall(), false);
  world_.note("daily bars could not be fetched: " + why);
  world_.say(LogLevel::warning, "history: " + why + "; fetching is tried again in half an hour");
}

void HistoryKeeper::on_update(const SymbolUpdate& update) {
  if (!update.error.empty())
    return world_.say(LogLevel::warning,
                      "history: " + (update.symbol.empty() ? "" : update.symbol + ": ") + update.error);
  if (!update.words.empty()) world_.say(LogLevel::info, "history: " + update.symbol + ": " + update.words);
}

void HistoryKeeper::on_end(const HistoryRoundResult& result) {
  clock_.done(world_.wall(), result.whole());
  const bool events_failed = !result.splits_failed.empty() || !result.reports_failed.empty();
  if (result.asked > 0 || !result.event_words.empty() || events_failed)
    world_.say(events_failed ? LogLevel::warning : LogLevel::info, "history: " + in_words(result));
  world_.note(failures_in_words(result, index_symbol_of(world_.settings())));
  for (const SymbolUpdate& update : result.split) tell_split(world_.settings(), update);
  if (result.changed > 0 || !result.event_words.empty()) world_.renew();
  // Not from within itself.
  boost::asio::post(world_.io,
                    [this, round = std::shared_ptr<HistoryRound>(std::move(round_))]() mutable { round.reset(); });
}

/// Nothing moves by itself: a wrong split would move every level of a watch.
void HistoryKeeper::tell_split(const Settings& settings, const SymbolUpdate& update) const {
  const auto watches = watches_after_split(settings, update.symbol, update.split);
  if (watches.empty()) return;
  world_.tell(update.symbol + ": probably a " + split_text(update.split) + " split" +
              (update.split_day != Date{} ? " on " + to_string(update.split_day) : std::string()) +
              ": the source's past prices and the bars so far differ by it; " + in_words(watches) +
              "; nothing was changed: `" + split_command(update.symbol, update.split) + "` takes it");
}

}  // namespace brimwatch
