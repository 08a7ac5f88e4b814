#include "config/changes.h"

#include <algorithm>

#include "config/reading/value.h"

namespace brimwatch {
namespace {

struct WatchKey {
  const std::string& symbol;
  Price pivot;

  bool operator==(const WatchKey& other) const { return pivot == other.pivot && symbol == other.symbol; }
  bool operator<(const WatchKey& other) const {
    if (const int by_symbol = symbol.compare(other.symbol); by_symbol != 0) return by_symbol < 0;
    return pivot < other.pivot;
  }
};

WatchKey key(const WatchList& list, std::size_t i) { return {list.symbol(i), list.pivot(i)}; }

/// Walks both lists side by side; what a short look ahead cannot pair is sorted and paired by key.
class WatchComparison {
 public:
  WatchComparison(const WatchList& old, const WatchList& now, Changes& out) : old_(old), now_(now), out_(out) {}

  void run() {
    std::size_t i = 0, j = 0;
    while (i < old_.size() && j < now_.size()) {
      if (key(old_, i) == key(now_, j)) pair(i++, j++);
      else if (!resume(i, j)) left_old_.push_back(index(i++)), left_now_.push_back(index(j++));
    }
    while (i < old_.size()) left_old_.push_back(index(i++));
    while (j < now_.size()) left_now_.push_back(index(j++));
    pair_left();
    std::sort(out_.changed.begin(), out_.changed.end());
  }

 private:
  static constexpr std::size_t kAhead = 32;

  static std::uint32_t index(std::size_t i) { return static_cast<std::uint32_t>(i); }

  void pair(std::size_t i, std::size_t j) {
    if (i != j) out_.order = true;
    if (same_terms(old_[i], now_[j])) ++out_.unchanged;
    else out_.changed.push_back(index(j));
  }

  /// After a few watches put in or taken out, the lists run on alike.
  bool resume(std::size_t& i, std::size_t& j) {
    for (std::size_t k = 1; k <= kAhead; ++k) {
      if (j + k < now_.size() && key(old_, i) == key(now_, j + k)) {
        for (; k > 0; --k) left_now_.push_back(index(j++));
        return true;
      }
      if (i + k < old_.size() && key(old_, i + k) == key(now_, j)) {
        for (; k > 0; --k) left_old_.push_back(index(i++));
        return true;
      }
    }
    return false;
  }

  void pair_left() {
    const auto by_key = [](const WatchList& list) {
      return [&list](std::uint32_t a, std::uint32_t b) { return key(list, a) < key(list, b); };
    };
    std::sort(left_old_.begin(), left_old_.end(), by_key(old_));
    std::sort(left_now_.begin(), left_now_.end(), by_key(now_));
    std::size_t i = 0, j = 0;
    while (i < left_old_.size() || j < left_now_.size()) {
      const bool old_first =
          i < left_old_.size() && (j == left_now_.size() || key(old_, left_old_[i]) < key(now_, left_now_[j]));
      if (old_first) out_.removed.push_back(left_old_[i++]);
      else if (i < left_old_.size() && key(old_, left_old_[i]) == key(now_, left_now_[j]))
        pair(left_old_[i++], left_now_[j++]);
      else out_.added.push_back(left_now_[j++]);
    }
    std::sort(out_.removed.begin(), out_.removed.end());
    std::sort(out_.added.begin(), out_.added.end());
  }

  const WatchList& old_;
  const WatchList& now_;
  Changes& out_;
  std::vector<std::uint32_t> left_old_, left_now_;
};

/// Only added and removed watches can change the set of symbols.
bool symbols_differ(const Changes& changes, const Settings& old, const Settings& now) {
  if (changes.added.empty() && changes.removed.empty()) return false;
  const auto symbols = [](const WatchList& watches) {
    std::vector<std::string_view> out(watches.symbols().begin(), watches.symbols().end());
    std::sort(out.begin(), out.end());
    return out;
  };
  return symbols(old.watches) != symbols(now.watches);
}

template <typename T>
const T* enabled_one(const std::vector<T>& all, const std::string& name) {
  for (const T& one : all) {
    if (one.enabled && one.name == name) return &one;
  }
  return nullptr;
}

template <typename T>
NameChanges by_name(const std::vector<T>& old, const std::vector<T>& now) {
  NameChanges out;
  for (const T& one : old) {
    const T* other = enabled_one(now, one.name);
    if (one.enabled && (other == nullptr || !(*other == one))) out.stop.push_back(one.name);
  }
  for (const T& one : now) {
    const T* other = enabled_one(old, one.name);
    if (one.enabled && (other == nullptr || !(*other == one))) out.start.push_back(one.name);
  }
  return out;
}

void add_part(std::string& line, const std::string& part) {
  if (!line.empty()) line += "; ";
  line += part;
}

void add_count(std::string& line, std::size_t count, std::string_view what, bool& named) {
  if (count == 0) return;
  if (!line.empty()) line += ", ";
  line += std::to_string(count);
  if (!named) line += count == 1 ? " watch" : " watches";
  named = true;
  line.append(" ").append(what);
}

void add_names(std::string& line, std::string_view what, const NameChanges& names) {
  const auto holds = [](const std::vector<std::string>& list, const std::string& name) {
    return std::find(list.begin(), list.end(), name) != list.end();
  };
  for (const std::string& name : names.start) {
    const std::string did = holds(names.stop, name) ? " restarted" : " started";
    add_part(line, std::string(what).append(" ").append(in_quotes(name)).append(did));
  }
  for (const std::string& name : names.stop) {
    if (!holds(names.start, name))
      add_part(line, std::string(what).append(" ").append(in_quotes(name)).append(" stopped"));
  }
}

std::string market_line(const MarketSettings& old, const MarketSettings& now) {
  if (old.trend == now.trend) return "[market] changed";
  if (now.trend == Trend::unknown) return "market trend no longer set";
  return std::string("market trend ").append(to_string(now.trend));
}

}  // namespace

bool same_terms(const Watch& a, const Watch& b) {
  return a.symbol == b.symbol && a.pivot == b.pivot && a.rules == b.rules && a.normal_volume == b.normal_volume &&
         a.from == b.from && a.until == b.until && a.calendar == b.calendar && a.tape == b.tape &&
         a.listing == b.listing && a.note == b.note;
}

bool Changes::any() const {
  return watches() || feeds.any() || channels.any() || session || market || history || record || keep || page || life ||
         log || evening || shared || prepare || journal;
}

Changes compare(const Settings& old, const Settings& now) {
  Changes out;
  WatchComparison(old.watches, now.watches, out).run();
  out.symbols = symbols_differ(out, old, now);
  out.feeds = by_name(old.feeds, now.feeds);
  out.channels = by_name(old.channels, now.channels);
  out.session = !(old.session == now.session);
  out.market = !(old.market == now.market);
  out.history = !(old.history == now.history);
  out.record = !(old.record == now.record);
  out.keep = !(old.keep == now.keep);
  out.page = !(old.page == now.page);
  out.life = !(old.life == now.life);
  out.evening = !(old.evening == now.evening);
  out.shared = !(old.shared == now.shared);
  out.prepare = !(old.prepare == now.prepare);
  out.log = old.log_level != now.log_level || old.log_format != now.log_format;
  out.journal = old.journal != now.journal;
  return out;
}

std::string summary(const Changes& changes, const Settings& old, const Settings& now) {
  std::string line;
  bool named = false;
  add_count(line, changes.added.size(), "added", named);
  add_count(line, changes.removed.size(), "removed", named);
  add_count(line, changes.changed.size(), "changed", named);
  if (named) add_count(line, changes.unchanged, "unchanged", named);
  else if (changes.order) line = "watches in another order";
  add_names(line, "feed", changes.feeds);
  add_names(line, "channel", changes.channels);
  if (changes.market) add_part(line, market_line(old.market, now.market));
  const std::pair<bool, const char*> sections[] = {
      {changes.session, "[session]"}, {changes.history, "[history]"}, {changes.record, "[record]"},
      {changes.keep, "[keep]"},       {changes.page, "[page]"},       {changes.life, "[life]"},
      {changes.evening, "[evening]"}, {changes.prepare, "[prepare]"}, {changes.log, "[log]"}};
  for (const auto& [changed, name] : sections) {
    if (changed) add_part(line, std::string(name).append(" changed"));
  }
  if (changes.shared) add_part(line, "[shared] changed, used from the next start on");
  if (changes.journal) add_part(line, "another journal, used from the next start on");
  return line.empty() ? "nothing changed" : line;
}

}  // namespace brimwatch
