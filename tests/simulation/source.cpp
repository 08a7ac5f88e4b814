#include "source.h"

#include <algorithm>

namespace brimwatch::simulation {
namespace {

constexpr double kFaultsADay = 14;

}  // namespace

Source::Source(std::string name, VirtualTime& time, Market& market, std::uint64_t seed, Tally& tally)
    : name_(std::move(name)), time_(time), market_(market), dice_(seed, name_.c_str()), tally_(tally) {}

void Source::begin_day(const Session& session, std::vector<Tick> ticks, bool faults) {
  session_ = session;
  day_ = std::move(ticks);
  at_ = 0;
  faults_ = faults;
  ++generation_;
  held_.clear(), recent_.clear();
  delay_until_ = stall_until_ = lost_until_ = {};
  delay_ = 0;
  dumb_since_ = {};
  schedule();
  if (faults) {
    time_.at(session.open - kMinute, [this, mine = generation_] {
      if (mine == generation_) next_fault();
    });
  }
}

void Source::end_faults() {
  faults_ = false;
  delay_until_ = stall_until_ = lost_until_ = down_until_ = {};
  delay_ = 0;
}

void Source::schedule() {
  if (at_ >= day_.size()) return;
  const Timestamp next = std::max(due(day_[at_]), std::max(stall_until_, time_.truth() + 1));
  time_.at(next, [this, mine = generation_] {
    if (mine == generation_) deliver();
  });
}

/// All that has traded by now, as far as this source has it already.
void Source::deliver() {
  if (delay_until_.is_set() && time_.truth() >= delay_until_) delay_ = 0, delay_until_ = {};
  if (lost_until_.is_set() && time_.truth() >= lost_until_) lost_symbol_ = kNoSymbol, lost_until_ = {};
  if (stall_until_ > time_.truth()) return schedule();
  std::vector<Tick> out;
  for (Tick& tick : held_) out.push_back(tick);
  held_.clear();
  while (at_ < day_.size() && due(day_[at_]) <= time_.truth()) {
    const Tick& tick = day_[at_++];
    if (faults_) spoil(tick, out);
    else out.push_back(tick);
  }
  latency_ = faults_ ? dice_.log_span(5 * kMilli, 800 * kMilli) : 40 * kMilli;
  hand(std::move(out));
  schedule();
}

void Source::spoil(const Tick& tick, std::vector<Tick>& out) {
  if (tick.symbol == lost_symbol_) return;
  const double fate = dice_.unit();
  if (fate < 0.003) {
    ++tally_["feed: print lost, told as a gap"];
    Tick hole;
    hole.kind = TickKind::hole;
    hole.time = recent_.empty() ? session_.open : recent_.back().time;
    hole.received = tick.time + kMilli;
    if (hole.time < hole.received) out.push_back(hole);
    return;
  }
  if (fate < 0.006) ++tally_["feed: print held back"], held_.push_back(tick);
  else out.push_back(tick);
  if (fate > 0.990 && !recent_.empty()) {
    ++tally_["feed: print repeated"];
    out.push_back(recent_[recent_.size() - 1 - dice_.below(std::min<std::size_t>(recent_.size(), 30))]);
  }
  if (fate > 0.984 && fate < 0.986 && out.size() > 1) {
    ++tally_["feed: prints out of order"];
    std::swap(out[out.size() - 1], out[out.size() - 2]);
  }
  if (fate > 0.980 && fate < 0.983 && tick.time > session_.open + 20 * kMinute) {
    ++tally_["feed: lie"];
    out.push_back(market_.lie(tick.time));
  }
}

void Source::hand(std::vector<Tick> ticks) {
  for (const Tick& tick : ticks) {
    if (tick.kind != TickKind::hole) recent_.push_back(tick);
  }
  if (recent_.size() > 400) recent_.erase(recent_.begin(), recent_.end() - 200);
  if (ticks.empty()) return;
  if (feed_ == nullptr) return void(dumb_since_ = dumb_since_.is_set() ? dumb_since_ : time_.truth());
  dumb_since_ = {};
  // In pieces, as the network cuts them.
  while (faults_ && ticks.size() > 1 && dice_.chance(0.5)) {
    const auto cut = static_cast<std::ptrdiff_t>(1 + dice_.below(ticks.size() - 1));
    feed_->take({ticks.begin(), ticks.begin() + cut});
    if (feed_ == nullptr) return;
    ticks.erase(ticks.begin(), ticks.begin() + cut);
  }
  feed_->take(ticks);
}

void Source::go_down(Nanos span) {
  down_until_ = std::max(down_until_, time_.truth() + span);
  if (feed_ != nullptr) feed_->hang_up("connection reset");
}

void Source::next_fault() {
  time_.after(dice_.wait(kFaultsADay), [this, mine = generation_] {
    if (mine != generation_ || !faults_ || time_.truth() > session_.close) return;
    inject();
    next_fault();
  });
}

void Source::inject() {
  const Timestamp now = time_.truth();
  switch (dice_.below(7)) {
    case 0:
      ++tally_["feed: stalls with the connection open"];
      stall_until_ = now + dice_.log_span(2 * kSecond, 25 * kMinute);
      if (dice_.chance(0.5)) {  // what traded meanwhile never comes
        while (at_ < day_.size() && due(day_[at_]) < stall_until_) ++at_;
      }
      return;
    case 1:
      ++tally_["feed: hangs up"];
      if (feed_ != nullptr) feed_->hang_up("the other side closed the connection");
      return;
    case 2:
      ++tally_["feed: down and refusing"];
      down_until_ = now + dice_.log_span(3 * kSecond, 20 * kMinute);
      if (feed_ != nullptr) feed_->hang_up("connection reset");
      return;
    case 3:
      ++tally_["feed: one symbol falls silent"];
      lost_symbol_ = static_cast<SymbolId>(dice_.below(market_.names().size()));
      lost_until_ = now + dice_.log_span(kMinute, 30 * kMinute);
      return;
    case 4:
      ++tally_["feed: minutes behind"];
      delay_ = dice_.log_span(5 * kSecond, 16 * kMinute);
      delay_until_ = now + delay_ + dice_.log_span(10 * kSecond, 30 * kMinute);
      return;
    case 5:
      ++tally_["feed: sends its last minute again"];
      return resend();
    default:
      ++tally_["feed: rate bursts"];
      stall_until_ = now + dice_.span(kSecond, 10 * kSecond);
  }
}

void Source::resend() {
  if (feed_ == nullptr || recent_.empty()) return;
  const std::size_t count = std::min<std::size_t>(recent_.size(), 20 + dice_.below(60));
  feed_->take({recent_.end() - static_cast<std::ptrdiff_t>(count), recent_.end()});
}

void Source::send_day_again() {
  if (feed_ == nullptr || day_.empty()) return;
  ++tally_["feed: sends a day that is over"];
  feed_->take(day_);
}

void Source::on_connect(SourceFeed& feed) {
  feed_ = &feed;
  if (faults_ && dice_.chance(0.3)) {
    ++tally_["feed: sends history after a connect"];
    resend();
  }
}

SourceFeed::SourceFeed(Source& source, VirtualTime& time, SymbolTable& symbols, std::function<Timestamp()> wall)
    : source_(source), time_(time), symbols_(symbols), wall_(std::move(wall)) {}

SourceFeed::~SourceFeed() { source_.on_disconnect(*this); }

void SourceFeed::subscribe(const std::vector<std::string>& symbols) {
  ids_.assign(source_.market_.names().size(), kNoSymbol);
  for (std::size_t i = 0; i < ids_.size(); ++i) {
    const std::string& name = source_.market_.names()[i];
    if (std::binary_search(symbols.begin(), symbols.end(), name)) ids_[i] = symbols_.intern(name);
  }
}

void SourceFeed::start(FeedListener& listener) {
  listener_ = &listener;
  ++*life_;
  health_.state = FeedState::connecting;
  connect_after(120 * kMilli);
}

void SourceFeed::stop() {
  ++*life_;
  source_.on_disconnect(*this);
  health_.state = FeedState::stopped;
}

void SourceFeed::connect_after(Nanos span) {
  time_.after(span, [this, life = std::weak_ptr<int>(life_), mine = *life_] {
    const auto still = life.lock();
    if (still == nullptr || *still != mine) return;
    if (!source_.takes_connections()) {
      if (failures_ < 5) ++failures_;
      set_state(FeedState::down, "connection refused");
      return connect_after(kSecond << failures_);
    }
    failures_ = 0;
    set_state(FeedState::up, "connected");
    if (*still == mine) source_.on_connect(*this);
  });
}

void SourceFeed::set_state(FeedState state, const std::string& why) {
  health_.state = state;
  health_.text = why;
  listener_->on_state(state, why);
}

void SourceFeed::hang_up(const std::string& why) {
  source_.on_disconnect(*this);
  ++health_.reconnects;
  ++*life_;
  const int mine = *life_;
  set_state(FeedState::down, why);
  if (*life_ == mine) connect_after(500 * kMilli);
}

void SourceFeed::take(const std::vector<Tick>& ticks) {
  std::vector<Tick> mine;
  mine.reserve(ticks.size());
  for (Tick tick : ticks) {
    if (tick.kind != TickKind::hole) {  // a hole's `received` is its end
      tick.received = wall_();
      tick.symbol = ids_[tick.symbol];
      if (tick.symbol == kNoSymbol) continue;
    }
    mine.push_back(tick);
  }
  health_.ticks += mine.size();
  if (!mine.empty()) listener_->on_ticks(mine);
}

}  // namespace brimwatch::simulation
