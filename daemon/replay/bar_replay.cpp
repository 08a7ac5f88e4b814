#include "replay/bar_replay.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <map>

#include "tape/bytes.h"

namespace brimwatch {
namespace {

constexpr std::size_t kMostBars = 20'000'000;  // a year of minutes of two hundred stocks
constexpr std::size_t kAtOnce = 4096;
constexpr int kCoarse = 5;  // minutes: longer bars are worth a warning

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

bool holds_word(const std::string& header, std::string_view word) {
  for (std::size_t at = header.find(word); at != std::string::npos; at = header.find(word, at + 1)) {
    const auto is_letter = [&](std::size_t i) {
      return i < header.size() && (std::isalnum(header[i]) || header[i] == '_');
    };
    if ((at == 0 || !is_letter(at - 1)) && !is_letter(at + word.size())) return true;
  }
  return false;
}

/// The commonest distance of rows of one day, minutes; 0 where there are too few.
int distance_of(const std::vector<BarRow>& rows) {
  std::map<int, int> counts;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const int distance = std::abs(rows[i].minute - rows[i - 1].minute);
    if (rows[i].day == rows[i - 1].day && distance > 0) ++counts[distance];
  }
  int best = 0, most = 0;
  for (const auto& [distance, count] : counts) {
    if (count > most) best = distance, most = count;
  }
  return best;
}

}  // namespace

bool looks_like_bars(std::string_view start) {
  const std::string header = lower(start.substr(0, start.find('\n')));
  if (header.empty() || header[0] == '{') return false;
  if (std::isdigit(static_cast<unsigned char>(header[0]))) return true;
  return (holds_word(header, "volume") || holds_word(header, "vol") || holds_word(header, "v")) &&
         !holds_word(header, "price");
}

Result<std::unique_ptr<BarReplay>> BarReplay::open(const std::vector<std::string>& paths, const BarReplayOptions& options,
                                                   const Calendar& calendar, const SymbolTable& symbols) {
  std::unique_ptr<BarReplay> out(new BarReplay());
  for (const std::string& path : paths) {
    if (const auto done = out->read(path, options, calendar, symbols); !done) return tl::unexpected(done.error());
  }
  out->sort();
  const auto remark = [&](std::uint64_t count, const char* what) {
    if (count > 0) out->remarks_.push_back("bars: " + std::to_string(count) + what);
  };
  remark(out->unwatched_, " rows are of symbols that nobody watches and were left out");
  remark(out->closed_days_, " rows are of days without a session and were left out");
  remark(out->repeated_, " rows repeat a bar; the first one counts");
  if (out->coarsest_ > kCoarse) {
    out->remarks_.push_back("bars of " + std::to_string(out->coarsest_) +
                            " minutes: moment and price of a crossing are known no better than that");
  }
  return out;
}

Status BarReplay::read(const std::string& path, const BarReplayOptions& options, const Calendar& calendar,
                       const SymbolTable& symbols) {
  auto opened = open_bytes(path);
  if (!opened) return tl::unexpected(opened.error());
  BarFileOptions how;
  how.utc = options.utc;
  how.prices = true;
  BarDecoder decoder(path, symbol_of_file(path), how, calendar);
  std::vector<char> room(1 << 20);
  while (true) {
    const auto got = opened->bytes->read(room);
    if (!got) return tl::unexpected(got.error());
    if (*got == 0) break;
    if (const auto fed = decoder.feed({room.data(), *got}); !fed) return fed;
  }
  if (const auto done = decoder.finish(); !done) return done;
  rows_ += decoder.rows();
  malformed_ += decoder.malformed();
  remarks_.insert(remarks_.end(), decoder.told().begin(), decoder.told().end());
  for (const SymbolRows& rows : decoder.symbols()) {
    const SymbolId symbol = symbols.find(rows.symbol);
    if (symbol == kNoSymbol) unwatched_ += rows.rows.size();
    else if (const auto taken = take(rows, symbol, path, options, calendar); !taken) return taken;
  }
  return {};
}

Status BarReplay::take(const SymbolRows& rows, SymbolId symbol, const std::string& path, const BarReplayOptions& options,
                       const Calendar& calendar) {
  const int minutes = options.bar_minutes > 0 ? options.bar_minutes : std::max(1, distance_of(rows.rows));
  coarsest_ = std::max(coarsest_, minutes);
  for (std::size_t i = 0; i < rows.rows.size(); ++i) {
    const BarRow& row = rows.rows[i];
    if (row.day >= kLabelDay) return fail(path + ": its days have no dates; such bars can be learned from, not replayed");
    const Session* session = calendar.on(Date{row.day});
    if (session == nullptr) {
      ++closed_days_;
      continue;
    }
    if (bars_.size() >= kMostBars)
      return fail(path + ": more than " + std::to_string(kMostBars) + " bars; replay fewer days or symbols at once");
    const Nanos local_open = session->open.ns + calendar.offset(session->open).count() * kSecond;
    const Timestamp stamp = session->open + ((row.day * 1440LL + row.minute) * kMinute - local_open);
    Bar bar;
    bar.symbol = symbol;
    bar.prices = rows.prices[i];
    bar.volume = Shares{std::isnan(row.volume) ? 0 : std::llround(row.volume * 1e6)};
    bar.start = options.stamped_end ? stamp - minutes * kMinute : stamp;
    bar.end = bar.start + minutes * kMinute;
    // A bar that begins before the open and reaches into the session (hours on the hour) begins at the open; one that
    // begins at the close holds the closing auction, which belongs to the day's last minute.
    if (bar.start < session->open && bar.end > session->open) bar.start = session->open;
    if (bar.start <= session->close && bar.end > session->close) bar.end = session->close;
    if (bar.start >= bar.end) bar.start = bar.end, bar.prices.open = {};
    if ((options.from && bar.end < *options.from) || (options.to && bar.end >= *options.to)) continue;
    bars_.push_back(bar);
  }
  return {};
}

void BarReplay::sort() {
  const auto before = [](const Bar& a, const Bar& b) {
    return a.end != b.end ? a.end < b.end : a.symbol != b.symbol ? a.symbol < b.symbol : a.start < b.start;
  };
  std::stable_sort(bars_.begin(), bars_.end(), before);
  const auto same = [](const Bar& a, const Bar& b) {
    return a.end == b.end && a.symbol == b.symbol && a.start == b.start;
  };
  const auto end = std::unique(bars_.begin(), bars_.end(), same);
  repeated_ = static_cast<std::uint64_t>(bars_.end() - end);
  bars_.erase(end, bars_.end());
  events_.reserve(2 * bars_.size());
  for (std::uint32_t i = 0; i < bars_.size(); ++i) {
    if (bars_[i].prices.open.is_set()) events_.push_back({bars_[i].start + 1, i, true});
    events_.push_back({bars_[i].end, i, false});
  }
  std::stable_sort(events_.begin(), events_.end(), [](const Event& a, const Event& b) { return a.time < b.time; });
}

/// A bar's time is its end, and belongs to the minute before it (tick.h).
Tick BarReplay::tick_of(const Event& event) const {
  const Bar& bar = bars_[event.bar];
  Tick tick;
  tick.kind = TickKind::bar;
  tick.symbol = bar.symbol;
  tick.time = event.time;
  tick.price = tick.bid = tick.ask = event.is_open ? bar.prices.open : bar.prices.close;
  if (event.is_open) return tick;
  tick.size = bar.volume;
  tick.bid = bar.prices.low;
  tick.ask = bar.prices.high;
  return tick;
}

Result<std::span<const Tick>> BarReplay::next() {
  room_.clear();
  for (; at_ < events_.size() && room_.size() < kAtOnce; ++at_) room_.push_back(tick_of(events_[at_]));
  given_ += room_.size();
  return std::span<const Tick>(room_);
}

}  // namespace brimwatch
