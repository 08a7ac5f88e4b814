#pragma once
// Invented records with every member set to something of its own, and a directory that goes away with the test.
#include <gtest/gtest.h>
#include <stdlib.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>

#include "journal/journal.h"

namespace brimwatch::sample {

class Folder {
 public:
  Folder() {
    // In memory where that is there: these tests are about what is written, not about how fast a disk syncs.
    const bool memory = ::access("/dev/shm", W_OK) == 0;
    const std::filesystem::path parent = memory ? "/dev/shm" : std::filesystem::temp_directory_path();
    std::string form = (parent / "brimwatch_test_XXXXXX").string();
    path_ = ::mkdtemp(form.data());
  }
  ~Folder() {
    std::error_code code;
    std::filesystem::permissions(path_, std::filesystem::perms::owner_all, code);
    std::filesystem::remove_all(path_, code);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

inline const Date kDay = Date::of(2026, 11, 25);

inline Answer answer(AnswerKind kind, int number, Date day = kDay) {
  Answer answer;
  answer.id = "a" + std::to_string(number);
  answer.kind = kind;
  answer.who = "page";
  answer.day = day;
  answer.at.ns = day.days * kDayNanos + number;
  answer.time.ns = answer.at.ns - 1;
  answer.symbol = "KLVN";
  answer.pivot = Price{48'350'000};
  answer.price = Price{48'600'000};
  answer.shares = Shares::whole(200);
  answer.until.ns = answer.at.ns + kHour;
  answer.under_pivot = true;
  answer.last_day = day + 30;
  answer.note = "cup, 9 weeks";
  return answer;
}

inline NoticeRecord notice(int number, Date day = kDay, NoticeKind kind = NoticeKind::crossed) {
  NoticeRecord record;
  Notice& n = record.notice;
  n.kind = kind;
  n.side = Side::inside;
  n.trend = Trend::mixed;
  n.marked = true;
  n.count = static_cast<std::uint16_t>(number);
  n.day = day;
  n.time = Timestamp{(day.days * 86400LL + 15 * 3600 + number) * kSecond + 123456789};
  n.age = 250'000'000;
  n.price = Price{48'410'000}, n.price_before = Price{48'300'001};
  n.pivot = Price{48'350'000}, n.range_top = Price{50'760'000}, n.loss_limit = Price{44'482'000};
  n.trade_id = 0xFFFFFFFFFFFFFFFEULL - static_cast<unsigned>(number);
  n.volume.so_far = Shares{612'000'500'000}, n.volume.normal = Shares::whole(1'300'000);
  n.volume.projected = 2'314'159.26535 + number, n.volume.low = 1.9e6 + 1.0 / 3, n.volume.high = 2.8e6;
  n.volume.surge = 78.01, n.volume.odds = 0.1 + 0.2, n.volume.needed = 40, n.volume.feed_ratio = 0.031;
  n.volume.missed_minutes = 1.5, n.volume.weight = Weight::heavy, n.volume.why_not = NoJudgement::none;
  n.detail = "detail";
  record.symbol = "KLVN";
  record.id = notice_id(day, record.symbol, n.pivot, kind, number);
  record.title = "KLVN crossed 48.35";
  record.text = "KLVN crossed 48.35,\nnow 48.41 \xE2\x80\x94 \"range\" to 50.76";
  record.note = "cup with handle";
  record.offset = std::chrono::hours{-5};
  return record;
}

/// Equal in everything that the journal keeps.
inline void expect_same(const NoticeRecord& a, const NoticeRecord& b) {
  EXPECT_EQ(a.id, b.id);
  EXPECT_EQ(std::tie(a.symbol, a.title, a.text, a.note, a.offset), std::tie(b.symbol, b.title, b.text, b.note, b.offset));
  const Notice &m = a.notice, &n = b.notice;
  EXPECT_EQ(std::tie(m.kind, m.side, m.trend, m.marked, m.delayed, m.in_hole, m.count, m.day, m.time, m.age, m.price),
            std::tie(n.kind, n.side, n.trend, n.marked, n.delayed, n.in_hole, n.count, n.day, n.time, n.age, n.price));
  EXPECT_EQ(std::tie(m.price_before, m.pivot, m.range_top, m.loss_limit, m.trade_id, m.detail),
            std::tie(n.price_before, n.pivot, n.range_top, n.loss_limit, n.trade_id, n.detail));
  const VolumeView &v = m.volume, &w = n.volume;
  EXPECT_EQ(std::tie(v.so_far, v.normal, v.weight, v.why_not), std::tie(w.so_far, w.normal, w.weight, w.why_not));
  const auto bits = [](double x) { return std::isnan(x) ? 0x7ff8000000000000ULL : std::bit_cast<std::uint64_t>(x); };
  for (const auto member :
       {&VolumeView::projected, &VolumeView::low, &VolumeView::high, &VolumeView::surge, &VolumeView::odds,
        &VolumeView::needed, &VolumeView::feed_ratio, &VolumeView::missed_minutes}) {
    EXPECT_EQ(bits(v.*member), bits(w.*member)) << v.*member << " against " << w.*member;
  }
}

/// Gives every field a value of its own, so that one that is left out or mixed up shows.
struct Filler {
  void operator()(std::string_view, auto& field) { fill(field); }
  template <typename T>
  void fill(T& field) {
    if constexpr (std::is_same_v<T, bool>) field = ++number % 2 == 0;
    else if constexpr (std::is_enum_v<T>) field = static_cast<T>(1 + ++number % 2);
    else if constexpr (std::is_unsigned_v<T>) field = static_cast<T>(0) - static_cast<T>(++number);
    else if constexpr (std::is_integral_v<T>) field = static_cast<T>(-++number);
    else field = -1.0 / static_cast<double>(++number);
  }
  void fill(Price& field) { field.micros = (++number << 40) + 1; }
  void fill(Shares& field) { field.micros = (++number << 41) + 1; }
  void fill(Timestamp& field) { field.ns = (++number << 50) - 1; }
  void fill(Date& field) { field.days = static_cast<std::int32_t>(++number); }
  template <typename T, std::size_t N>
  void fill(std::array<T, N>& fields) {
    for (T& field : fields) fill(field);
  }
  void fill(std::vector<std::int64_t>& numbers) { numbers = {++number, -++number}; }
  std::int64_t number = 0;
};

inline WatchState watch_state(const std::string& symbol, Date day, Side side = Side::inside) {
  WatchState state;
  each_field(state, Filler{});
  state.symbol = symbol, state.pivot = Price{48'350'000}, state.day = day, state.side = side;
  return state;
}

inline SymbolState symbol_state(const std::string& symbol, Date day, std::int64_t volume) {
  SymbolState state;
  each_field(state, Filler{});
  state.symbol = symbol, state.day = day, state.so_far = Shares::whole(volume);
  return state;
}

inline std::unique_ptr<Journal> open(const std::string& path, const JournalOptions& options = {}) {
  auto journal = Journal::open(path, options);
  EXPECT_TRUE(journal) << (journal ? "" : journal.error().text);
  return journal ? std::move(*journal) : nullptr;
}

inline void write_bytes(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary | std::ios::trunc) << bytes;
}

template <typename T>
T must(Result<T> result) {
  EXPECT_TRUE(result) << (result ? "" : result.error().text);
  return result ? std::move(*result) : T{};
}

inline void must(const Status& status) { EXPECT_TRUE(status) << (status ? "" : status.error().text); }

}  // namespace brimwatch::sample
