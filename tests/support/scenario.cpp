#include "support/scenario.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <fstream>
#include <map>
#include <memory>
#include <sstream>
#include <stdexcept>

namespace brimwatch::test {
namespace {

[[noreturn]] void bad(const std::string& what) { throw std::runtime_error(what); }

Price price_of(const std::string& text) {
  const auto price = parse_price(text);
  if (!price) bad("\"" + text + "\" is no price");
  return *price;
}

Shares shares_of(const std::string& text) {
  const auto shares = parse_brief_shares(text);
  if (!shares) bad("\"" + text + "\" is no number of shares");
  return *shares;
}

std::int32_t percent_of(const std::string& text) { return static_cast<std::int32_t>(price_of(text).micros); }

/// The words of one line, taken one after the other.
class Words {
 public:
  explicit Words(const std::vector<std::string>& words) : words_(words) {}
  [[nodiscard]] bool done() const { return at_ == words_.size(); }
  [[nodiscard]] bool next_is(const std::string& word) const { return !done() && words_[at_] == word; }
  std::string take() {
    if (done()) bad("the line ends too early");
    return words_[at_++];
  }
  bool skip(const std::string& word) { return next_is(word) ? (++at_, true) : false; }
  void expect(const std::string& word) {
    if (!skip(word)) bad("\"" + word + "\" expected");
  }

 private:
  const std::vector<std::string>& words_;
  std::size_t at_ = 0;
};

class Runner : public NoticeSink {
 public:
  Runner(const Scenario& scenario, Restarts restarts) : scenario_(scenario), restarts_(restarts) {
    auto calendar = Calendar::load("XNYS", {});
    if (!calendar) bad(calendar.error().text);
    calendar_ = *calendar;
  }

  std::vector<std::string> run() {
    for (const ScenarioLine& line : scenario_.lines) {
      try {
        take(line);
      } catch (const std::exception& error) {
        complain(line.number, error.what());
      }
    }
    nothing_left();
    return std::move(problems_);
  }

  void on_notice(Notice&& notice) override {
    names_.emplace_back(symbols_.name(notice.symbol));
    said_.push_back(std::move(notice));
  }
  void on_day(const DayRecord& record) override { days_[record.symbol] = record; }

 private:
  void take(const ScenarioLine& line) {
    Words words(line.words);
    if (words.skip("says")) return expect_notice(line.number, words);
    nothing_left();
    event_line_ = line.number;
    if (std::isdigit(static_cast<unsigned char>(line.words[0][0])) && line.words[0].find(':') != std::string::npos) {
      event(words);
      if (restarts_ == Restarts::after_every_event && !one_process_) restart();
      return;
    }
    const std::string what = words.take();
    if (what == "calendar") calendar(words);
    else if (what == "day") day_ = date_of(words.take());
    else if (what == "watch") watch(words);
    else if (what == "drop") drop(words);
    else if (what == "close") keep(closes_, words, 1);
    else if (what == "sd") keep(sds_, words, 100);
    else if (what == "market") market(words);
    else if (what == "extended") options_.extended_volume = true;
    else if (what == "day-volume-includes") day_volume_includes(words);
    else if (what == "split") splits_[words.take()] = day_;
    else if (what == "restart") restart();
    else if (what == "one-process") one_process_ = true;
    else if (what == "counter") counter(words);
    else if (what == "volume") day_volume(words);
    else if (what == "record") record(words);
    else bad("unknown word \"" + what + "\"");
  }

  static Date date_of(const std::string& text) {
    const auto date = parse_date(text);
    if (!date) bad("\"" + text + "\" is no day");
    return *date;
  }

  Timestamp time_of(const std::string& clock) const {
    const auto utc = parse_rfc3339(to_string(day_) + "T" + clock + "Z");
    if (!utc) bad("\"" + clock + "\" is no time of day");
    return *utc - calendar_->offset(*utc + 5 * kHour).count() * kSecond;
  }

  void calendar(Words& words) {
    auto loaded = Calendar::load(words.take(), {});
    if (!loaded) bad(loaded.error().text);
    calendar_ = *loaded;
  }

  void watch(Words& words) {
    Watch w;
    w.symbol = words.take();
    w.calendar = Mic(calendar_->mic());
    w.rules.tick_table = tick_table_of(calendar_->mic());
    while (!words.done()) watch_key(w, words);
    set_levels(w);
    watches_.push_back(w);
    calendars_.push_back(calendar_);
    if (engine_) engine_->set_watches(watches_, calendars_);
  }

  void watch_key(Watch& w, Words& words) {
    const std::string key = words.take();
    if (key == "tape-c") return void(w.tape = Tape::utdf);
    if (key == "second-day") return void(w.rules.second_day = true);
    if (key == "close-above") return void(w.rules.close_above = true);
    if (key == "doubt-auctions") return void(w.rules.trust_auctions = false);
    const std::string value = words.take();
    if (key == "pivot") w.pivot = price_of(value);
    else if (key == "normal") w.normal_volume = shares_of(value);
    else if (key == "from") w.from = date_of(value);
    else if (key == "until") w.until = date_of(value);
    else if (key == "listing") w.listing = value[0];
    else if (key == "range") w.rules.range = percent_of(value);
    else if (key == "surge") w.rules.surge = percent_of(value);
    else if (key == "rearm") w.rules.rearm = percent_of(value);
    else if (key == "slip") w.rules.slip = percent_of(value);
    else if (key == "loss") w.rules.loss = percent_of(value);
    else if (key == "bad_print") w.rules.bad_print = percent_of(value);
    else if (key == "ticks") w.rules.tick_table = table_of(value);
    else if (key == "tick") w.rules.tick_size = price_of(value);
    else if (key == "least_size") w.rules.least_size = static_cast<std::uint16_t>(std::stoi(value));
    else if (key == "splits") w.rules.split_guard = value == "off" ? SplitGuard::off : SplitGuard::ask;
    else if (key == "halts") w.rules.halts = value == "none" ? Halts::none : Halts::all;
    else if (key == "per_day") w.rules.per_day = static_cast<std::uint16_t>(std::stoi(value));
    else if (key == "confirm_trades") w.rules.confirm_trades = static_cast<std::uint16_t>(std::stoi(value));
    else if (key == "confirm_seconds") w.rules.confirm_seconds = static_cast<std::uint16_t>(std::stoi(value));
    else bad("unknown word \"" + key + "\"");
  }

  static TickTable table_of(const std::string& name) {
    for (int i = 0; i <= static_cast<int>(TickTable::cents); ++i) {
      if (to_string(static_cast<TickTable>(i)) == name) return static_cast<TickTable>(i);
    }
    bad("\"" + name + "\" is no table of ticks");
    return {};
  }

  void drop(Words& words) {
    const std::string symbol = words.take();
    for (std::size_t i = watches_.size(); i-- > 0;) {
      if (watches_[i].symbol != symbol) continue;
      watches_.erase(watches_.begin() + static_cast<std::ptrdiff_t>(i));
      calendars_.erase(calendars_.begin() + static_cast<std::ptrdiff_t>(i));
    }
    engine().set_watches(watches_, calendars_);
  }

  static void keep(std::map<std::string, double>& where, Words& words, double unit) {
    const std::string symbol = words.take();
    where[symbol] = price_of(words.take()).as_double() / unit;
  }

  void day_volume_includes(Words& words) {
    options_.day_volume_includes = words.take() == "regular" ? DayVolumeIncludes::regular : DayVolumeIncludes::extended;
  }

  void market(Words& words) {
    options_.trend = trend_of(words.take()).value();
    const std::string when = words.done() ? "tell" : words.take();
    options_.when_down = when == "mark" ? WhenDown::mark : when == "hold-back" ? WhenDown::hold_back : WhenDown::tell;
    if (engine_) engine_->set_market(options_.trend, options_.when_down);
  }

  void make() {
    engine_ = std::make_unique<Engine>(options_, symbols_, [this](SymbolId id, std::uint32_t watch, const Session& s) {
      std::vector<DailyBar> none;
      DayPlan plan = make_plan(s, none, nullptr, watches_[watch].normal_volume, *calendars_[watch]);
      const std::string name(symbols_.name(id));
      if (day_ == first_day_) plan.previous_close = closes_[name];
      plan.daily_sd = sds_[name];
      plan.split_listed = splits_.contains(name) && splits_[name] == day_;
      return plan;
    });
    engine_->set_watches(watches_, calendars_);
    if (first_day_ == Date{}) first_day_ = day_;
  }

  Engine& engine() {
    if (!engine_) make();
    return *engine_;
  }

  /// A new process: new symbol ids, nothing but the kept states.
  void restart() {
    if (!engine_) return;
    std::vector<WatchState> watches = engine_->watch_states();
    std::vector<SymbolState> symbols = engine_->symbol_states();
    counters_ += engine_->counters();
    symbols_ = SymbolTable();
    symbols_.intern("SOMEBODY-ELSE");
    make();
    engine_->restore(watches, symbols);
  }

  void event(Words& words) {
    const std::string clock = words.take();
    const Timestamp time = time_of(clock);
    if (words.skip("clock")) return engine().on_time(time, *this);
    engine();
    Tick tick;
    tick.time = time;
    const std::string symbol = words.take();
    tick.symbol = symbol == "all" ? kNoSymbol : symbols_.intern(symbol);
    fill(tick, words);
    while (!words.done()) extra(tick, words);
    engine().on_ticks({&tick, 1}, *this);
  }

  void fill(Tick& tick, Words& words) {
    if (words.skip("cancel")) {
      tick.kind = TickKind::cancel;
      price_and_size(words, tick.price, tick.size);
    } else if (words.skip("correct")) {
      tick.kind = TickKind::correct;
      price_and_size(words, tick.bid, tick.bid_size);
      words.expect("to");
      price_and_size(words, tick.price, tick.size);
    } else if (words.skip("blind")) {
      tick.kind = TickKind::hole;
      words.expect("until");
      tick.received = time_of(words.take());
    } else if (words.skip("bar")) {
      tick.kind = TickKind::bar;
      words.expect("low"), tick.bid = price_of(words.take());
      words.expect("high"), tick.ask = price_of(words.take());
      words.expect("close"), price_and_size(words, tick.price, tick.size);
    } else if (words.skip("snapshot")) {
      tick.kind = TickKind::day;
      tick.price = price_of(words.take());
    } else if (words.skip("quote")) {
      tick.kind = TickKind::quote;
      tick.bid = price_of(words.take()), tick.ask = price_of(words.take());
    } else if (status(tick, words)) {
      tick.kind = TickKind::status;
    } else {
      price_and_size(words, tick.price, tick.size);
    }
  }

  static bool status(Tick& tick, Words& words) {
    const std::map<std::string, TradingStatus> all{{"halted", TradingStatus::halted},
                                                   {"paused", TradingStatus::paused},
                                                   {"quotation", TradingStatus::quotation},
                                                   {"trading", TradingStatus::trading}};
    for (const auto& [word, value] : all) {
      if (words.skip(word)) return tick.status = value, true;
    }
    return false;
  }

  static void price_and_size(Words& words, Price& price, Shares& size) {
    price = price_of(words.take());
    const bool has_size = words.skip("x");
    if (!has_size) bad("\"x\" and a size expected");
    const std::string text = words.take();
    size = text[0] == '-' ? Shares{-shares_of(text.substr(1)).micros} : shares_of(text);
  }

  void extra(Tick& tick, Words& words) {
    const std::string word = words.take();
    if (word == "id") tick.id = trade_id_of(words.take());
    else if (word == "on") tick.exchange = words.take()[0];
    else if (word == "day-volume") tick.day_volume = shares_of(words.take());
    else if (word == "received") tick.received = time_of(words.take());
    else if (word == "by") tick.feed = static_cast<std::uint8_t>(std::stoi(words.take()));
    else if (word == "codes") tick.conditions = Conditions::of(words.take());
    else bad("unknown word \"" + word + "\"");
  }

  void expect_notice(int line, Words& words) {
    const std::string kind = words.take();
    if (said_.empty()) return complain(line, "nothing was said where " + kind + " was expected");
    const Notice notice = std::move(said_.front());
    said_.pop_front();
    name_ = std::exchange(names_.front(), {});
    names_.pop_front();
    check(line, "kind", std::string(to_string(notice.kind)), kind);
    while (!words.done()) check_key(line, notice, words);
  }

  void check_key(int line, const Notice& n, Words& words) {
    const std::string key = words.take();
    if (key == "marked") return check(line, key, n.marked ? "yes" : "no", "yes");
    if (key == "delayed") return check(line, key, n.delayed ? "yes" : "no", "yes");
    if (key == "blind") return check(line, key, n.in_hole ? "yes" : "no", "yes");
    if (key == "held") return check(line, key, n.held ? "yes" : "no", "yes");
    if (key == "doubtful") return check(line, key, n.doubtful ? "yes" : "no", "yes");
    if (key == "last") return check(line, key, n.last_today ? "yes" : "no", "yes");
    const std::string value = words.take();
    if (key == "price") check(line, key, to_string(n.price), to_string(price_of(value)));
    else if (key == "before") check(line, key, to_string(n.price_before), to_string(price_of(value)));
    else if (key == "pivot") check(line, key, to_string(n.pivot), to_string(price_of(value)));
    else if (key == "top") check(line, key, to_string(n.range_top), to_string(price_of(value)));
    else if (key == "limit") check(line, key, to_string(n.loss_limit), to_string(price_of(value)));
    else if (key == "side") check(line, key, std::string(to_string(n.side)), value);
    else if (key == "count") check(line, key, std::to_string(n.count), value);
    else if (key == "weight") check(line, key, std::string(to_string(n.volume.weight)), value);
    else if (key == "volume") check(line, key, to_string(n.volume.so_far), to_string(shares_of(value)));
    else if (key == "surge") check(line, key, std::to_string(std::lround(n.volume.surge)), value);
    else if (key == "odds") check(line, key, std::to_string(n.volume.odds).substr(0, value.size()), value);
    else if (key == "missed") check(line, key, std::to_string(std::lround(n.volume.missed_minutes)), value);
    else if (key == "not-judged") check(line, key, std::to_string(static_cast<int>(n.volume.why_not)), why_not_of(value));
    else if (key == "detail") check(line, key, dashed(n.detail), value);
    else if (key == "id-number") check(line, key, std::to_string(n.count + n.withdrawn), value);
    else if (key == "symbol") check(line, key, name_, value);
    else if (key == "day") check(line, key, to_string(n.day), value);
    else if (key == "at") check(line, key, to_clock(n.time, calendar_->offset(n.time)), value);
    else bad("unknown word \"" + key + "\"");
  }

  static std::string dashed(std::string text) {
    std::replace(text.begin(), text.end(), ' ', '-');
    return text;
  }

  static std::string why_not_of(const std::string& word) {
    const std::map<std::string, NoJudgement> all{{"normal", NoJudgement::no_normal},
                                                 {"heard", NoJudgement::heard_too_little},
                                                 {"unclear", NoJudgement::day_volume_unclear}};
    if (!all.contains(word)) bad("unknown word \"" + word + "\"");
    return std::to_string(static_cast<int>(all.at(word)));
  }

  void counter(Words& words) {
    const std::string name = words.take();
    EngineCounters sum = counters_;
    sum += engine().counters();
    for (const auto& [key, value] : sum.named()) {
      if (name == key) return check(event_line_, name, std::to_string(value), words.take());
    }
    bad("unknown counter \"" + name + "\"");
  }

  void day_volume(Words& words) {
    const std::string symbol = words.take();
    std::string found = "not known";
    for (const SymbolState& state : engine().symbol_states()) {
      if (state.symbol == symbol) found = to_string(state.so_far);
    }
    check(event_line_, "volume", found, to_string(shares_of(words.take())));
  }

  void record(Words& words) {
    const std::string symbol = words.take();
    if (!days_.contains(symbol)) bad("no record of " + symbol);
    const DayRecord& r = days_[symbol];
    while (!words.done()) {
      const std::string key = words.take(), value = words.take();
      if (key == "volume") check(event_line_, key, to_string(r.volume), to_string(shares_of(value)));
      else if (key == "open") check(event_line_, key, to_string(r.open), to_string(price_of(value)));
      else if (key == "high") check(event_line_, key, to_string(r.high), to_string(price_of(value)));
      else if (key == "low") check(event_line_, key, to_string(r.low), to_string(price_of(value)));
      else if (key == "close") check(event_line_, key, to_string(r.close), to_string(price_of(value)));
      else if (key == "coverage") check(event_line_, key, std::to_string(r.coverage).substr(0, value.size()), value);
      else bad("unknown word \"" + key + "\"");
    }
  }

  void check(int line, const std::string& what, const std::string& found, const std::string& wanted) {
    if (found != wanted) complain(line, what + " is " + found + ", expected " + wanted);
  }

  void nothing_left() {
    for (const Notice& n : said_) {
      complain(event_line_, "said and not expected: " + std::string(symbols_.name(n.symbol)) + " " +
                                std::string(to_string(n.kind)) + " price " + to_string(n.price) + " pivot " +
                                to_string(n.pivot) + " " + n.detail);
    }
    said_.clear();
    names_.clear();
  }

  void complain(int line, const std::string& what) {
    problems_.push_back(scenario_.name + ":" + std::to_string(line) + ": " + what);
  }

  const Scenario& scenario_;
  Restarts restarts_;
  std::shared_ptr<const Calendar> calendar_;
  Date day_ = Date::of(2026, 11, 24), first_day_;
  EngineOptions options_;
  SymbolTable symbols_;
  std::vector<Watch> watches_;
  std::vector<std::shared_ptr<const Calendar>> calendars_;
  bool one_process_ = false;
  std::deque<std::string> names_;  ///< of the symbols of said_: another process has other numbers
  std::string name_;
  std::map<std::string, Date> splits_;
  std::map<std::string, double> closes_, sds_;
  std::unique_ptr<Engine> engine_;
  EngineCounters counters_;
  std::deque<Notice> said_;
  std::map<std::string, DayRecord> days_;
  int event_line_ = 0;
  std::vector<std::string> problems_;
};

}  // namespace

Scenario read_scenario(const std::string& path) {
  Scenario out;
  out.name = path.substr(path.rfind('/') + 1);
  std::ifstream file(path);
  std::string line;
  for (int number = 1; std::getline(file, line); ++number) {
    if (line.rfind("why:", 0) == 0) {
      out.why = line.substr(4);
      continue;
    }
    std::istringstream words(line.substr(0, line.find('#')));
    ScenarioLine parsed{number, {}};
    for (std::string word; words >> word;) parsed.words.push_back(word);
    if (!parsed.words.empty()) out.lines.push_back(parsed);
  }
  return out;
}

std::vector<std::string> run_scenario(const Scenario& scenario, Restarts restarts) {
  return Runner(scenario, restarts).run();
}

}  // namespace brimwatch::test
