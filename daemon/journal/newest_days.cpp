#include "journal/newest_days.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <optional>

#include "journal/records.h"
#include "journal/row_io.h"

namespace brimwatch {
namespace {

using Days = std::vector<CarriedDay>;

/// Four words of eight bytes a day: day, millionths of shares, coverage, half day.
constexpr std::size_t kWords = 4, kDayBytes = kWords * sizeof(std::int64_t);

std::string packed_days(const Days& days) {
  std::string bytes;
  for (const CarriedDay& one : days) {
    const std::array<std::int64_t, kWords> words{one.day.days, one.volume.micros,
                                                 std::bit_cast<std::int64_t>(one.coverage), one.half_day ? 1 : 0};
    bytes.append(reinterpret_cast<const char*>(words.data()), kDayBytes);
  }
  return bytes;
}

std::optional<Days> unpacked_days(std::string_view bytes) {
  if (bytes.size() % kDayBytes != 0) return std::nullopt;
  Days days;
  for (; !bytes.empty(); bytes.remove_prefix(kDayBytes)) {
    std::array<std::int64_t, kWords> words{};
    std::memcpy(words.data(), bytes.data(), kDayBytes);
    days.push_back(
        {Date{static_cast<std::int32_t>(words[0])}, Shares{words[1]}, std::bit_cast<double>(words[2]), words[3] != 0});
  }
  return days;
}

/// What stands there; nothing where that is not what was written.
std::optional<Days> read_row(const Statement& found, std::string& symbol) {
  RowReader row(found);
  row(symbol);
  const std::string_view bytes = row.get_text();
  return row.end() ? unpacked_days(bytes) : std::nullopt;
}

void keep_newest(Days& days, const CarriedDay& one) {
  const auto at =
      std::lower_bound(days.begin(), days.end(), one, [](const auto& a, const auto& b) { return a.day < b.day; });
  if (at != days.end() && at->day == one.day) *at = one;
  else days.insert(at, one);
  if (days.size() > static_cast<std::size_t>(Journal::kNewestDays)) days.erase(days.begin());
}

/// From the records; those whose sum does not fit are left out and counted.
Result<Days> days_of_records(Database& database, const std::string& symbol, std::uint64_t& damaged) {
  const auto select = database.kept("SELECT * FROM days WHERE symbol = ? ORDER BY day DESC LIMIT ?");
  if (!select) return tl::unexpected(select.error());
  (*select)->bind(1, std::string_view(symbol));
  (*select)->bind(2, std::int64_t{Journal::kNewestDays});
  Days days;
  auto status = each_row(**select, [&](const Statement& found) {
    RowReader row(found);
    DayRecord record;
    day_columns(row, record);
    if (row.end()) days.push_back({record.day, record.volume, record.coverage, record.half_day});
    else ++damaged;
    return true;
  });
  if (!status) return tl::unexpected(status.error());
  std::reverse(days.begin(), days.end());
  return days;
}

Status write_row(Database& database, const std::string& symbol, const Days& days) {
  const auto put = database.kept("INSERT OR REPLACE INTO newest_days VALUES (?, ?, ?)");
  if (!put) return tl::unexpected(put.error());
  const std::string bytes = packed_days(days);
  RowWriter row(**put);
  row(symbol);
  row.put_blob(bytes);
  row.end();
  return (*put)->run();
}

}  // namespace

Status fill_newest_days(Database& database) {
  std::uint64_t damaged = 0;  // whoever reads the records counts them
  std::string symbol;
  for (bool first = true;; first = false) {
    const auto find =
        database.kept(first ? "SELECT min(symbol) FROM days" : "SELECT min(symbol) FROM days WHERE symbol > ?");
    if (!find) return tl::unexpected(find.error());
    if (!first) (*find)->bind(1, std::string_view(symbol));
    const auto row = (*find)->step();
    if (!row) return tl::unexpected(row.error());
    const bool done = !*row || (*find)->is_null(0);
    std::string next = done ? std::string() : std::string((*find)->text(0));
    (*find)->reset();
    if (done) return {};
    symbol = std::move(next);
    const auto days = days_of_records(database, symbol, damaged);
    if (!days) return tl::unexpected(days.error());
    if (auto status = write_row(database, symbol, *days); !status) return status;
  }
}

Status note_newest_day(Database& database, const DayRecord& record) {
  const auto find = database.kept("SELECT * FROM newest_days WHERE symbol = ?");
  if (!find) return tl::unexpected(find.error());
  (*find)->bind(1, std::string_view(record.symbol));
  const auto row = (*find)->step();
  if (!row) return tl::unexpected(row.error());
  std::string symbol;
  std::optional<Days> days = *row ? read_row(**find, symbol) : std::nullopt;
  (*find)->reset();
  std::uint64_t damaged = 0;
  if (!days) {
    auto again = days_of_records(database, record.symbol, damaged);  // the new one among them
    if (!again) return tl::unexpected(again.error());
    days = std::move(*again);
  }
  keep_newest(*days, {record.day, record.volume, record.coverage, record.half_day});
  return write_row(database, record.symbol, *days);
}

Status read_newest_days(Database& database, CarriedDays& all, std::uint64_t& damaged) {
  auto select = database.prepare("SELECT * FROM newest_days ORDER BY symbol");
  if (!select) return tl::unexpected(select.error());
  Status trouble;
  auto status = each_row(*select, [&](const Statement& found) {
    std::string symbol;
    std::optional<Days> days = read_row(found, symbol);
    if (!days) {
      ++damaged;
      auto again = days_of_records(database, symbol, damaged);
      if (!again) return trouble = tl::unexpected(again.error()), false;
      days = std::move(*again);
    }
    if (!days->empty()) all.insert_or_assign(std::move(symbol), std::move(*days));
    return true;
  });
  return status ? trouble : status;
}

}  // namespace brimwatch
