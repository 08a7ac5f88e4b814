#include "ledger.h"

#include <algorithm>
#include <cmath>

#include "journal/backlog.h"

namespace brimwatch::simulation {
namespace {

constexpr std::size_t kTroublesMost = 20;
constexpr int kSilencesMost = 60;  ///< told in a day: fourteen faults of a feed, some of them with all of its symbols

/// Of the engine; the rest is about feeds, channels and the program. A watch doubts its own price, too.
bool is_of_a_watch(const Notice& notice) {
  switch (notice.kind) {
    case NoticeKind::feed_silent:
    case NoticeKind::feed_late:
    case NoticeKind::feed_back:
      return false;
    case NoticeKind::self_check:
      return notice.pivot.is_set();
    default:
      return true;
  }
}

/// Refused by the engine whatever else it is: it counts nowhere, and moves no time.
bool is_without_price(const Tick& tick) {
  const double price = tick.price.as_double();
  return tick.kind == TickKind::trade && (price <= 0 || price > 1e9);
}

std::string name_of(const std::string& symbol, Price pivot) { return symbol + " " + to_string(pivot); }

/// Which event it is, without what was known of the volume.
std::string_view head_of(std::string_view line) { return line.substr(0, line.find(" count ")); }

}  // namespace

Ledger::Ledger(VirtualTime& time, Market& market, std::shared_ptr<const Calendar> calendar, Tally& tally)
    : time_(time), market_(market), calendar_(calendar), tally_(tally), oracle_(market.watches(), calendar, names_) {
  for (const std::string& name : market.names()) names_.intern(name);
  for (const Watch& one : market.watches()) watched_.insert(name_of(one.symbol, one.pivot));
  watched_durably_ = watched_;
  oracle_.plan_of = [this](std::string_view symbol, Shares normal, const Session& session) {
    const auto known = played_.find(symbol);
    return make_plan(session, {}, known == played_.end() ? nullptr : known->second, normal, *calendar_);
  };
}

void Ledger::fail(const std::string& what) {
  if (troubles_.size() < kTroublesMost) troubles_.push_back(to_rfc3339(time_.truth()) + ": " + what);
}

void Ledger::on_market(Trend trend, WhenDown when_down) {
  items_.push_back({Item::Kind::market, {}, {}, nullptr, trend, when_down});
}

void Ledger::on_start() { items_.push_back({Item::Kind::start, {}, {}, nullptr}); }

void Ledger::on_lessons(const Histories& histories) {
  for (const std::string& name : market_.names()) {
    std::shared_ptr<const Learned> now = histories.learned(name);
    std::shared_ptr<const Learned>& before = told_[name];
    if (now == before) continue;
    before = now;
    items_.push_back({Item::Kind::lesson, {}, name, std::move(now)});
  }
}

void Ledger::on_ticks(std::span<const Tick> ticks, const SymbolTable& names) {
  for (Tick tick : ticks) {
    if (tick.symbol != kNoSymbol) tick.symbol = names_.find(names.name(tick.symbol));
    if (tick.kind == TickKind::trade) look_for_agreement(tick);
    items_.push_back({Item::Kind::tick, tick, {}, nullptr});
  }
  last_tick_ = time_.truth();
}

void Ledger::on_engine_time(Timestamp now) {
  Tick tick;
  tick.time = now;
  items_.push_back({Item::Kind::time, tick, {}, nullptr});
}

void Ledger::on_durable(std::uint64_t mark) {
  for (; dropped_ < mark && !items_.empty(); ++dropped_) {
    play(items_.front());
    items_.pop_front();
  }
}

void Ledger::on_crash() {
  items_.clear();
  watched_ = watched_durably_;
  owed_.clear();  // what it had told was not kept
  told_.clear();  // the next one reads the file
}

void Ledger::on_answer(const Answer& answer) {
  answers_given_.insert(answer.id);
  if (answer.kind == AnswerKind::mute) mutes_.push_back(answer);
  if (answer.kind == AnswerKind::add) watched_.insert(name_of(answer.symbol, answer.pivot)), on_reload();
  if (answer.kind == AnswerKind::drop) watched_.erase(name_of(answer.symbol, answer.pivot)), on_reload();
  Item item{Item::Kind::answer, {}, {}, nullptr};
  item.answer = answer;
  items_.push_back(std::move(item));
}

/// In the second engine's words.
void Ledger::hear(const Answer& answer) {
  const auto& watches = market_.watches();
  const auto found = std::find_if(watches.begin(), watches.end(), [&](const Watch& one) {
    return one.symbol == answer.symbol && one.pivot == answer.pivot;
  });
  const auto watch = static_cast<std::size_t>(found - watches.begin());
  hear_list(answer, watch);
  if (found == watches.end()) return;  // of a stock that does not trade
  switch (answer.kind) {
    case AnswerKind::mute:
      return oracle_.mute(watch, answer.until, answer.under_pivot);
    case AnswerKind::unmute:
      return oracle_.mute(watch, {}, false);
    case AnswerKind::bought:
    case AnswerKind::sold:
      return deal(answer, watch);
    case AnswerKind::acknowledge:
    case AnswerKind::add:
    case AnswerKind::drop:
      return;
  }
}

void Ledger::hear_list(const Answer& answer, std::size_t watch) {
  const std::string name = name_of(answer.symbol, answer.pivot);
  const bool trades = watch < market_.watches().size();
  if (answer.kind == AnswerKind::add) {
    watched_durably_.insert(name);
    if (trades) oracle_.add(watch);
  }
  if (answer.kind == AnswerKind::drop) {
    watched_durably_.erase(name);
    if (trades) oracle_.drop(watch);
  }
}

/// One holding a stock; the mean of its purchases by shares, which a sale of a part leaves where it is.
void Ledger::deal(const Answer& answer, std::size_t watch) {
  const auto& watches = market_.watches();
  const std::int64_t shares = answer.shares.micros / kMicrosPerUnit;
  Held& held = held_[answer.symbol];
  if (answer.kind == AnswerKind::sold && shares > 0) {
    held.shares -= shares;
    return;
  }
  for (std::size_t other = 0; other < watches.size(); ++other)
    if (watches[other].symbol == answer.symbol) oracle_.sell(other);
  if (answer.kind == AnswerKind::sold) return void(held_.erase(answer.symbol));
  held.counted = held.counted && shares > 0;
  held.shares += shares;
  if (held.counted) held.mean += (static_cast<long double>(answer.price.micros) - held.mean) * shares / held.shares;
  oracle_.buy(watch, held.counted ? Price{std::llround(held.mean)} : answer.price);
}

/// A mute never outlives its time, whatever the second engine thinks of it.
void Ledger::look_at_mute(const NoticeRecord& record) {
  const Notice& notice = record.notice;
  const bool covered = std::any_of(mutes_.begin(), mutes_.end(), [&](const Answer& one) {
    return one.symbol == record.symbol && one.pivot == notice.pivot && (one.under_pivot || notice.time < one.until);
  });
  if (notice.muted && !covered) fail("muted, and no mute lasts so long: " + record.id);
}

/// What somebody was told is kept is there, and nothing that nobody said.
void Ledger::check_answers(Journal& journal) {
  const auto all = journal.answers({}, {});
  if (!all) return fail("the journal cannot be read: " + all.error().text);
  std::set<std::string> found;
  for (const Answer& one : *all) {
    if (!found.insert(one.id).second) fail("an answer twice in the journal: " + one.id);
    if (!answers_given_.contains(one.id)) fail("an answer that nobody gave: " + one.id);
  }
  for (const std::string& id : answers_kept_) {
    if (!found.contains(id)) fail("an answer that was said to be kept is lost: " + id);
  }
}

/// Two prints in a row, both far off, that agree are a price: so says the rule of the print guard.
void Ledger::look_for_agreement(const Tick& tick) {
  constexpr double kAgree = 0.05;  // half of the guard
  const std::string why = market_.why_not(tick.id);
  if (why.empty()) far_off_.erase(tick.symbol);
  if (why != Market::kFarOff) return;
  const auto [before, alone] = far_off_.try_emplace(tick.symbol, tick);
  if (alone) return;
  const double apart = tick.price.as_double() / before->second.price.as_double() - 1;
  if (std::abs(apart) < kAgree) market_.believe(before->second.id), market_.believe(tick.id);
  before->second = tick;
}

void Ledger::play(const Item& item) {
  switch (item.kind) {
    case Item::Kind::start:
      return oracle_.restart();
    case Item::Kind::new_list:
      return oracle_.forget_plans();
    case Item::Kind::market:
      return oracle_.market(item.trend, item.when_down);
    case Item::Kind::lesson:
      played_[item.symbol] = item.lesson;
      return;
    case Item::Kind::answer:
      return hear(item.answer);
    case Item::Kind::time:
      oracle_.tell_time(item.tick.time, said_);
      return set_days_apart();
    case Item::Kind::tick:
      look_for_repetition(item.tick);
      oracle_.take(item.tick, said_);
      return set_days_apart();
  }
}

/// A day's record may be written again, when a correction comes late; a notice is said once.
void Ledger::set_days_apart() {
  for (std::string& line : said_) {
    if (line.rfind("day ", 0) == 0) days_[line.substr(0, line.find(" volume "))] = line;
    else expected_.push_back(std::move(line));
  }
  said_.clear();
}

/// A print counted twice is a volume that never was.
void Ledger::look_for_repetition(const Tick& tick) {
  if (is_without_price(tick)) return;
  if (tick.id == 0 || (tick.kind != TickKind::trade && tick.kind != TickKind::cancel)) return;
  const Date day = calendar_->local_date(tick.time);
  if (day > given_day_ && day <= calendar_->local_date(time_.truth())) given_.clear(), given_day_ = day;
  if (!given_.insert({tick.id, tick.kind}).second)
    fail("given to the engine twice: " + std::string(tick.kind == TickKind::trade ? "trade " : "cancel ") +
         std::to_string(tick.id) + " of " + to_rfc3339(tick.time));
}

// --- notices and messages ---

void Ledger::on_notices(const std::vector<NoticeRecord>& notices, bool durable) {
  for (const NoticeRecord& record : notices) {
    if (order_.try_emplace(record.id, order_.size()).second) {
      ++tally_["notice: " + std::string(to_string(record.notice.kind))];
      look_at(record);
    }
    if (durable && !durable_.insert(record.id).second && !undurable_.contains(record.id))
      fail("written twice: " + record.id);
    if (!durable) undurable_.insert(record.id);
    if (record.notice.kind != NoticeKind::feed_silent) continue;
    last_silence_told_ = time_.truth();
    if (++silences_of_day_[record.notice.day] == kSilencesMost) fail(record.id + ": silences are told without end");
  }
}

void Ledger::look_at(const NoticeRecord& record) {
  const Notice& notice = record.notice;
  const VolumeView& volume = notice.volume;
  if (volume.odds < 0 || volume.odds > 1) fail(record.id + ": odds of " + std::to_string(volume.odds));
  if (volume.projected > 0 && volume.projected < volume.so_far.as_double() * (1 - 1e-9))
    fail(record.id + ": heads for less than it has");
  if (!is_of_a_watch(notice)) return;
  look_at_mute(record);
  look_at_age(record);
  if (notice.time > time_.truth() + kMinute + 11 * kMinute) fail(record.id + ": of the future");
  const Session* const session = calendar_->on(notice.day);
  if (session == nullptr) return fail(record.id + ": of a day without a session");
  if (notice.kind == NoticeKind::day_end && time_.truth() < session->close) fail(record.id + ": the day is not over yet");
  switch (notice.kind) {
    case NoticeKind::crossed:
    case NoticeKind::opened_over:
    case NoticeKind::left_range:
    case NoticeKind::back_inside:
    case NoticeKind::fell_under:
    case NoticeKind::loss_limit:
    case NoticeKind::gain:
      if (const std::string why = market_.why_not(notice.trade_id); !why.empty())
        fail(record.id + ": from " + why + " (trade " + std::to_string(notice.trade_id) + ")");
      if (!session->is_open(notice.time)) fail(record.id + ": outside the session");
      return;
    default:
      return;
  }
}

/// A person who reads of a price of an hour ago must be told so.
void Ledger::look_at_age(const NoticeRecord& record) {
  if (behind_ < kMinute || time_.wrong_by() != 0) return;
  if (!record.notice.delayed) fail(record.id + ": of data that are late, and does not say so");
}

void Ledger::on_message(const Sink& sink, const Message& message, bool journal_in_trouble) {
  const bool again = message.id.find("/again-") != std::string::npos;
  for (const NoticeRecord& record : message.notices) {
    // While a disk hangs the keeper says nothing, and the house tells by itself.
    if (journal_in_trouble && !order_.contains(record.id)) on_notices({record}, false), owed_.insert(record.id);
    if (!durable_.contains(record.id) && !(journal_in_trouble || undurable_.contains(record.id)))
      fail(sink.name() + ": sent before it was durable: " + record.id);
    if (!order_.contains(record.id)) fail(sink.name() + ": sent, and never told: " + record.id);
    if (journal_in_trouble) ++unkept_[{sink.name(), record.id}];
  }
  if (again || message.notices.empty() || time_.wrong_by() != 0) return;
  const Notice& oldest = message.notices.front().notice;
  const Nanos late = time_.truth() - oldest.time - std::max<Nanos>(oldest.age, 0);
  if (late > 2 * kMinute && late < kDayNanos && !message.late) {
    // A clock that was wrong when it was received makes its age wrong.
    if (oldest.age >= 0 && oldest.age < 30 * kMinute)
      fail(sink.name() + ": late by " + std::to_string(late / kSecond) + " s and does not say so: " + message.id);
  }
}

void Ledger::on_arrival(const Sink& sink, const NoticeRecord& record) {
  if (record.symbol.empty() || !is_of_a_watch(record.notice)) return;
  std::size_t& latest = latest_[{sink.name(), record.symbol}];
  const std::size_t told = order_[record.id];
  if (told < latest && !undurable_.contains(record.id)) fail(sink.name() + ": out of its symbol's order: " + record.id);
  latest = std::max(latest, told);
}

// --- the state of the house ---

void Ledger::check_house(const House& house) {
  const Snapshot view = house.snapshot();
  for (const WatchRow& row : view.watches) {
    if (!(row.volume.odds >= 0 && row.volume.odds <= 1))
      fail(row.symbol + ": odds of " + std::to_string(row.volume.odds));
    if (row.volume.projected > 0 && row.volume.projected < row.volume.so_far.as_double() * (1 - 1e-9))
      fail(row.symbol + ": heads for less than it has");
    if (row.volume.so_far < Shares{}) fail(row.symbol + ": a volume below nothing");
  }
  for (const ChannelRow& row : view.channels) {
    if (row.waiting > ChannelQueue::kWaitingMost) fail(row.name + ": " + std::to_string(row.waiting) + " wait");
  }
  if (house.stage() == Stage::running) check_lists(view);
  if (view.latest.size() > 50) fail("more than fifty latest notices are kept");
  if (view.journal_waiting > 2 * kRowsBeforeCoalescing) fail("the journal's backlog grows without end");
}

/// What was added is watched, what was dropped is not, whatever died or was read anew in between.
void Ledger::check_lists(const Snapshot& view) {
  std::set<std::string> there;
  for (const WatchRow& row : view.watches) there.insert(name_of(row.symbol, row.pivot));
  for (const std::string& name : watched_)
    if (!there.contains(name)) fail("not watched, and should be: " + name);
  for (const std::string& name : there)
    if (!watched_.contains(name)) fail("watched, and should not be: " + name);
}

void Ledger::check_silence(bool in_session, Timestamp up_since, Timestamp session_open) {
  if (!in_session) return;
  const Timestamp since = std::max({last_tick_, up_since, session_open + behind_});
  // Ten minutes are the bound that the program promises for the rarest symbols.
  if (time_.truth() - since < 11 * kMinute + 30 * kSecond) return;
  if (last_silence_told_ < std::max(last_tick_, session_open) - kHour)
    fail("no feed has given anything since " + to_rfc3339(since) + ", and nobody was told");
}

// --- the journal ---

void Ledger::check_journal(Journal& journal) {
  const auto all = journal.notices({});
  if (!all) return fail("the journal cannot be read: " + all.error().text);
  std::multiset<std::string> found;
  std::set<std::string> ids;
  for (const NoticeRecord& record : *all) {
    if (!ids.insert(record.id).second) fail("twice in the journal: " + record.id);
    if (!is_of_a_watch(record.notice)) continue;
    Notice notice = record.notice;
    const auto& watches = market_.watches();
    const auto watch = std::find_if(watches.begin(), watches.end(), [&](const Watch& one) {
      return one.symbol == record.symbol && one.pivot == notice.pivot;
    });
    if (watch == watches.end()) {
      fail("a notice about no watch: " + record.id);
      continue;
    }
    notice.watch = static_cast<std::uint32_t>(watch - watches.begin());
    found.insert(test::Oracle::line_of(notice));
  }
  for (const std::string& line : expected_) {
    const auto same = found.find(line);
    if (same != found.end()) {
      found.erase(same);
      continue;
    }
    const auto like = std::find_if(found.begin(), found.end(),
                                   [&](const std::string& other) { return head_of(other) == head_of(line); });
    fail("not in the journal: " + line + (like == found.end() ? "" : "; it says: " + *like));
  }
  for (const std::string& line : found) fail("in the journal, and should not be: " + line);
  for (const std::string& id : owed_) {
    if (!ids.contains(id)) fail("sent, and not in the journal: " + id);
  }
  if (journal.damaged() > 0) fail("damaged rows in the journal");
  check_days(journal);
  check_answers(journal);
}

void Ledger::check_days(Journal& journal) {
  std::size_t found = 0;
  for (const std::string& name : market_.names()) {
    const auto days = journal.days(name, Date::of(9999, 1, 1), 1'000'000);
    if (!days) return fail("the journal cannot be read: " + days.error().text);
    for (const DayRecord& day : *days) {
      const std::string line = test::Oracle::line_of(day);
      const auto expected = days_.find(line.substr(0, line.find(" volume ")));
      if (expected == days_.end()) fail("in the journal, and should not be: " + line);
      else if (expected->second != line) fail("the journal says: " + line + "; it was: " + expected->second);
      ++found;
    }
  }
  if (found != days_.size())
    fail("days in the journal: " + std::to_string(found) + " of " + std::to_string(days_.size()));
}

void Ledger::check_deliveries(Journal& journal, const std::vector<std::unique_ptr<Sink>>& sinks,
                              const std::vector<ChannelSettings>& channels) {
  const auto open = journal.open_deliveries();
  if (!open) return fail("the journal cannot be read: " + open.error().text);
  for (const OpenDelivery& one : *open)
    fail(one.row.channel + ": still " + std::string(to_string(one.row.state)) + ": " + one.row.notice_id);
  const auto all = journal.notices({});
  if (!all) return fail("the journal cannot be read: " + all.error().text);
  for (const NoticeRecord& record : *all) {
    const auto rows = journal.deliveries(record.id);
    if (!rows) return fail("the journal cannot be read: " + rows.error().text);
    for (std::size_t c = 0; c < channels.size(); ++c) {
      const ChannelSettings& channel = channels[c];
      const auto& kinds = channel.kinds;
      const bool chosen = kinds.empty() || std::find(kinds.begin(), kinds.end(), record.notice.kind) != kinds.end();
      const bool its_own =
          record.notice.held || (record.notice.kind == NoticeKind::self_check && record.symbol == channel.name);
      const auto row =
          std::find_if(rows->begin(), rows->end(), [&](const DeliveryRow& one) { return one.channel == channel.name; });
      if (!chosen || its_own || record.notice.muted) {
        if (row != rows->end()) fail(channel.name + ": was not to have " + record.id);
        continue;
      }
      if (row == rows->end()) {
        fail(channel.name + ": nobody knows what became of " + record.id);
        continue;
      }
      ++tally_["delivery: " + std::string(to_string(row->state))];
      if (!faults_ && row->state != DeliveryState::delivered)
        fail(channel.name + ": " + std::string(to_string(row->state)) + " without a fault: " + record.id);
      const auto had = sinks[c]->arrivals().find(record.id);
      const Arrivals arrivals = had == sinks[c]->arrivals().end() ? Arrivals{} : had->second;
      if (row->state == DeliveryState::delivered && arrivals.times == 0)
        fail(channel.name + ": said to be delivered, and never came: " + record.id);
      if (row->state == DeliveryState::dead && arrivals.refused == 0 && row->attempts < 100)
        fail(channel.name + ": given up without a refusal: " + record.id + " (" + row->reply + ")");
      if (row->state == DeliveryState::unknown && row->unknowns == 0)
        fail(channel.name + ": unknown, though every answer came: " + record.id);
      // Besides what the other side left open: results that a dying daemon did not get to keep, which it counts itself,
      // and those of messages that went out while nothing could be kept, which it cannot count.
      const auto unkept = unkept_.find({channel.name, record.id});
      const int allowed = 1 + arrivals.unsure + row->unknowns + (unkept == unkept_.end() ? 0 : unkept->second);
      if (arrivals.times > allowed)
        fail(channel.name + ": came " + std::to_string(arrivals.times) + " times with " +
             std::to_string(arrivals.unsure) + " unknown outcomes: " + record.id);
    }
  }
}

}  // namespace brimwatch::simulation
