#include "commands/learn/bar_input.h"

#include <algorithm>
#include <cctype>
#include <filesystem>

#include "engine/eligibility.h"
#include "tape/bytes.h"
#include "tape/reader.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;
using Rows = std::map<std::string, std::vector<BarRow>>;
using Tell = std::function<void(const std::string&)>;

/// A tape has trades: sizes and no volume column.
bool is_tape(std::string_view start) {
  std::string line(start.substr(0, start.find('\n')));
  std::transform(line.begin(), line.end(), line.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return line.find("size") != std::string::npos && line.find("price") != std::string::npos && line.find("volume,") != 0 &&
         line.find(",volume") == std::string::npos;
}

/// The minute bar that a trade belongs to; false for what adds no volume to the regular day. The closing print comes
/// seconds after the close and belongs to the last minute.
bool minute_of(const Tick& tick, const Calendar& calendar, BarRow& row) {
  const std::uint16_t bars = bars_of(tick.conditions, condition_table(Tape::cts));
  const Session* session = calendar.of(tick.time);
  if (tick.kind != TickKind::trade || (bars & kNoVolume) != 0 || session == nullptr) return false;
  Timestamp time = tick.time;
  if (time >= session->close && (bars & kClosingPrint) != 0) time = session->close - kMinute;
  if (!session->is_open(time)) return false;
  const Nanos local = time.ns + calendar.offset(time).count() * kSecond;
  row.day = session->day.days;
  row.minute = static_cast<std::int32_t>(local % kDayNanos / kMinute);
  row.volume = tick.size.as_double();
  row.open = row.close = static_cast<float>(tick.price.as_double());
  return true;
}

void add_minute(std::vector<BarRow>& rows, const BarRow& row) {
  for (auto last = rows.rbegin(); last != rows.rend() && last - rows.rbegin() < 3; ++last) {
    if (last->day != row.day || last->minute != row.minute) continue;
    last->volume += row.volume;
    last->close = row.close;
    return;
  }
  rows.push_back(row);
}

Status read_tape(const std::string& path, const Calendar& calendar, Rows& rows, const Tell& tell) {
  SymbolTable symbols;
  auto reader = TapeReader::open(path, symbols);
  if (!reader) return tl::unexpected(reader.error());
  for (;;) {
    const auto ticks = (*reader)->next();
    if (!ticks) return tl::unexpected(ticks.error());
    if (ticks->empty()) break;
    for (const Tick& tick : *ticks) {
      BarRow row;
      if (minute_of(tick, calendar, row)) add_minute(rows[std::string(symbols.name(tick.symbol))], row);
    }
  }
  for (const std::string& line : (*reader)->stats().told) tell(line);
  return {};
}

/// Enough of a file to see its header.
Result<std::string> read_start(OpenedBytes& opened) {
  std::string first;
  while (first.size() < 4096 && first.find('\n') == std::string::npos) {
    std::vector<char> room(4096);
    const auto got = opened.bytes->read(room);
    if (!got) return tl::unexpected(got.error());
    if (*got == 0) break;
    first.append(room.data(), *got);
  }
  return first;
}

/// Whether a file says in each row whose it is; false where it cannot be read (reading it will say why).
bool names_symbols(const std::string& path) {
  auto opened = open_bytes(path);
  const auto first = opened ? read_start(*opened) : Result<std::string>();
  return opened && first && has_symbol_column(*first);
}

Status decode(OpenedBytes& opened, std::string_view first, BarDecoder& decoder) {
  if (Status status = decoder.feed(first); !status) return status;
  std::vector<char> room(1 << 20);
  for (;;) {
    const auto got = opened.bytes->read(room);
    if (!got) return tl::unexpected(got.error());
    if (*got == 0) return decoder.finish();
    if (Status status = decoder.feed({room.data(), *got}); !status) return status;
  }
}

Status check_malformed(const std::string& path, const BarDecoder& decoder, const Tell& tell) {
  for (const std::string& line : decoder.told()) tell(line);
  if (decoder.malformed() * 100 <= std::max<std::uint64_t>(decoder.rows(), 100)) return {};
  return fail(path + ": " + std::to_string(decoder.malformed()) + " of " + std::to_string(decoder.rows()) +
              " rows could not be read, one in a hundred is allowed; the file was not used");
}

Status read_file(const std::string& path, const std::string& symbol, const BarInput& input, const Calendar& calendar,
                 Rows& rows, const Tell& tell) {
  auto opened = open_bytes(path);
  if (!opened) return tl::unexpected(opened.error());
  const auto first = read_start(*opened);
  if (!first) return tl::unexpected(first.error());
  if (is_tape(*first)) return read_tape(path, calendar, rows, tell);
  BarDecoder decoder(path, symbol, input.file, calendar);
  if (Status status = decode(*opened, *first, decoder); !status) return status;
  if (Status status = check_malformed(path, decoder, tell); !status) return status;
  for (SymbolRows& one : decoder.symbols()) {
    auto& into = rows[one.symbol];
    into.insert(into.end(), one.rows.begin(), one.rows.end());
  }
  return {};
}

void tell_counts(const BarSeries& series, const Tell& tell) {
  const BarCounts& counts = series.counts;
  if (counts.opens_late) {
    tell(series.symbol +
         ": the volume of the open comes one bar after it: the bars were taken as stamped by their ends (--stamp says "
         "otherwise)");
  } else if (counts.took_end_stamped) {
    tell(series.symbol +
         ": no bar starts at the open and there is one at the close: taken as stamped by their ends (--stamp says "
         "otherwise)");
  }
  if (counts.looks_end_stamped) {
    tell(series.symbol +
         ": the bars look stamped by their end (none starts at the open, one at the close); if so, give --stamp end");
  }
  if (counts.repeated > 0)
    tell(series.symbol + ": " + std::to_string(counts.repeated) + " rows repeat a bar; the first one counts");
  if (const std::string remark = break_remark(counts); !remark.empty()) tell(series.symbol + ": " + remark);
  if (counts.short_days > 0) {
    tell(series.symbol + ": " + std::to_string(counts.short_days) + " days lack part of the session; they were left out");
  }
}

}  // namespace

std::map<std::string, std::vector<std::string>> group_files(const BarInput& input) {
  std::map<std::string, std::vector<std::string>> groups;
  const auto add = [&](const std::string& path) {
    // Files with a symbol column go together: a stock may be in several of them, a month in each.
    groups[!input.symbol.empty() ? input.symbol : names_symbols(path) ? "" : symbol_of_file(path)].push_back(path);
  };
  for (const std::string& path : input.paths) {
    std::error_code problem;
    if (!fs::is_directory(path, problem)) {
      add(path);
      continue;
    }
    std::vector<std::string> inside;
    for (const auto& entry : fs::directory_iterator(path, problem)) {
      std::string name = entry.path().filename().string();
      for (char& c : name) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
      const bool bars = name.find(".csv") != std::string::npos || name.find(".tsv") != std::string::npos;
      if (entry.is_regular_file() && bars) inside.push_back(entry.path().string());
    }
    std::sort(inside.begin(), inside.end());
    std::for_each(inside.begin(), inside.end(), add);
  }
  return groups;
}

Result<std::vector<BarSeries>> read_series(const std::string& symbol, const std::vector<std::string>& paths,
                                           const BarInput& input, const Calendar& calendar, const Tell& tell) {
  Rows rows;
  for (const std::string& path : paths) {
    if (Status status = read_file(path, symbol, input, calendar, rows, tell); !status)
      return tl::unexpected(status.error());
  }
  std::vector<BarSeries> all;
  for (auto& [name, one] : rows) {
    all.push_back(assemble_bars(name, std::move(one), input.reading, calendar));
    tell_counts(all.back(), tell);
  }
  return all;
}

}  // namespace brimwatch
