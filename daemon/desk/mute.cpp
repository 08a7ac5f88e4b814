#include "desk/mute.h"

#include <algorithm>

#include "desk/desk.h"
#include "desk/market.h"

namespace brimwatch {
namespace {

constexpr Nanos kHeardBy = 15 * kMinute;  ///< of the session: a stock that has not traded by then is worth a word
constexpr int kRoundLot = 100;
constexpr int kLongWait = 600;  ///< seconds that a crossing waits to be confirmed

bool is_one_of(const std::vector<NoticeKind>& kinds, NoticeKind kind) {
  return kinds.empty() || std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

/// Whether some channel would send a crossing whose volume is judged so.
bool is_carried(const std::vector<ChannelSettings>& channels, bool unjudged) {
  return std::any_of(channels.begin(), channels.end(), [unjudged](const ChannelSettings& one) {
    const bool weighs = one.weights.empty() || !unjudged ||
                        std::find(one.weights.begin(), one.weights.end(), Weight::unknown) != one.weights.end();
    return one.enabled && is_one_of(one.kinds, NoticeKind::crossed) && weighs;
  });
}

class CausesOfMuteness {
 public:
  explicit CausesOfMuteness(const MuteFacts& facts) : f_(facts), rules_(facts.watch.rules) {}

  std::vector<MuteCause> run() {
    days();
    market();
    channels();
    if (f_.stands != nullptr) stand(*f_.stands);
    levels();
    volume();
    return std::move(out_);
  }

 private:
  void silences(const char* what, std::string more = {}) { out_.push_back({about_, what, std::move(more), true}); }
  void weakens(const char* what, std::string more = {}) { out_.push_back({about_, what, std::move(more), false}); }

  void days() {
    if (!f_.day) return;
    about_ = MuteCause::About::days;
    if (f_.watch.from && *f_.day < *f_.watch.from) silences("not in force", "from " + to_string(*f_.watch.from) + " on");
    if (f_.watch.until && *f_.watch.until < *f_.day)
      silences("not in force", "it was until " + to_string(*f_.watch.until));
    if (f_.session == nullptr) silences("its exchange is closed that day");
  }

  void market() {
    about_ = MuteCause::About::market;
    const MarketSettings& market = f_.settings.market;
    if (f_.trend == Trend::down && market.when_down == WhenDown::hold_back)
      silences("held back while the market is down");
    if (f_.index_doubtful && market.when_down != WhenDown::tell)
      weakens("the market's trend is not known: the index's bars are doubtful");
    else if (f_.index_too_old && market.when_down != WhenDown::tell)
      weakens("the market's trend is not known: the index's bars are too old");
  }

  void channels() {
    about_ = MuteCause::About::channels;
    const auto& all = f_.settings.channels;
    if (all.empty()) return;
    if (!is_carried(all, false)) silences("no channel carries crossings");
    else if (!f_.knows_normal && !is_carried(all, true))
      silences("no channel carries a crossing whose volume is not judged");
  }

  void stand(const WatchView& now) {
    about_ = MuteCause::About::stand;
    if (now.silent) silences("quiet today: the price looks like a split");
    else if (now.doubtful) weakens("told with a doubt: the price looks like a split");
    if (now.crossings >= rules_.per_day)
      silences("per_day is used up",
               std::to_string(now.crossings) + " crossings, told are " + std::to_string(rules_.per_day));
    if (now.halted) silences("halted");
    if (now.held.is_set()) weakens("a price waits until the tape agrees", to_string(now.held));
    const bool heard = f_.session == nullptr || f_.now < f_.session->open + kHeardBy || now.last_time >= f_.session->open;
    if (!heard) silences("no trade of it was heard today");
  }

  void levels() {
    about_ = MuteCause::About::levels;
    const Price first = on_tick_up(rules_, f_.watch.pivot);
    if (first != f_.watch.pivot) weakens("its pivot lies between two ticks", "crossed from " + to_string(first) + " on");
    if (rules_.range < rules_.slip)
      weakens("its range is narrower than slip", "it is left above " + to_string(f_.watch.range_top) +
                                                     ", and fell-under comes at " + to_string(f_.watch.slip_level));
    if (rules_.least_size > kRoundLot)
      weakens("small prints cross nothing", "under " + std::to_string(rules_.least_size) + " shares");
    if (rules_.confirm_seconds >= kLongWait)
      weakens("its crossing waits to be confirmed", std::to_string(rules_.confirm_seconds) + " s");
  }

  void volume() {
    about_ = MuteCause::About::volume;
    if (!f_.knows_normal) weakens("its volume is not judged: no normal volume is known");
  }

  const MuteFacts& f_;
  const Rules& rules_;
  MuteCause::About about_ = MuteCause::About::days;
  std::vector<MuteCause> out_;
};

}  // namespace

std::vector<MuteCause> mute_causes(const MuteFacts& facts) { return CausesOfMuteness(facts).run(); }

std::vector<MuteCause> mute_causes(const Desk& desk, std::uint32_t watch, const WatchView& stands, Timestamp now) {
  const Watch what = desk.settings().watches[watch];
  const Calendar& calendar = desk.calendar(watch);
  const Date today = calendar.local_date(now);
  const std::vector<DailyBar>& daily = desk.histories().daily(what.symbol);
  const bool by_bars = !daily.empty() && sessions_missing(daily, today, calendar) <= kOldestSessions;
  MuteFacts facts{.watch = what, .settings = desk.settings(), .day = today};
  facts.session = calendar.on(today);
  facts.trend = desk.trend();
  facts.knows_normal = what.normal_volume.has_value() || by_bars;
  facts.index_too_old = !desk.old_index(today).empty();
  facts.index_doubtful = facts.index_too_old && !desk.index_doubt().empty();
  facts.stands = &stands;
  facts.now = now;
  return mute_causes(facts);
}

std::string to_string(const MuteCause& cause) {
  return cause.more.empty() ? cause.what : cause.what + " (" + cause.more + ")";
}

void MuteList::add(const std::string& symbol, const MuteCause& cause) {
  auto line = std::find_if(lines_.begin(), lines_.end(), [&](const Line& one) { return one.cause.what == cause.what; });
  if (line == lines_.end()) return void(lines_.push_back({cause, {symbol}}));
  if (line->cause.more != cause.more) line->cause.more.clear();
  if (line->symbols.back() != symbol) line->symbols.push_back(symbol);
}

std::string MuteList::Line::names() const { return some_of(symbols); }

std::string some_of(const std::vector<std::string>& names) {
  constexpr std::size_t kNamed = 3;
  std::string text;
  for (std::size_t i = 0; i < std::min(names.size(), kNamed); ++i) text += (i == 0 ? "" : ", ") + names[i];
  if (names.size() > kNamed) text += " and " + std::to_string(names.size() - kNamed) + " more";
  return text;
}

}  // namespace brimwatch
