#pragma once
// A dispatcher under a clock of the test's own, and what it sends.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <string>
#include <vector>

#include "dispatch/dispatcher.h"

namespace brimwatch::desk {

inline const Date kDay = Date::of(2026, 11, 25);
inline const Timestamp kTen{kDay.days * kDayNanos + 15 * kHour};  // ten in the morning in New York

inline NoticeRecord notice(const std::string& symbol, NoticeKind kind, Timestamp time, int count = 1) {
  NoticeRecord record;
  record.notice.kind = kind, record.notice.day = kDay, record.notice.time = time, record.notice.age = 0;
  record.notice.count = static_cast<std::uint16_t>(count);
  record.notice.volume.weight = Weight::heavy;
  record.symbol = symbol;
  record.id = notice_id(kDay, symbol, Price{1'000'000}, kind, count);
  record.title = symbol + " " + std::string(to_string(kind));
  record.text = "text of " + record.title;
  record.offset = std::chrono::hours{-5};
  return record;
}

/// The journal's part: the last row of each notice and channel.
using Rows = std::map<std::pair<std::string, std::string>, DeliveryRow>;

struct Desk {
  explicit Desk(std::vector<ChannelPlan> plans, std::uint64_t seed = 1) : dispatcher(std::move(plans), seed) {}

  NoticeRecord write(const std::string& symbol, NoticeKind kind = NoticeKind::crossed, int count = 1) {
    auto record = notice(symbol, kind, now, count);
    dispatcher.on_written(record, now);
    return record;
  }
  std::vector<Send> due() {
    auto sends = dispatcher.due(now);
    keep();
    return sends;
  }
  /// The one message that is due, or an empty one.
  Send one() {
    auto sends = due();
    EXPECT_EQ(sends.size(), 1U);
    return sends.empty() ? Send{} : std::move(sends.front());
  }
  void result(const Send& send, Outcome outcome, const std::string& reply = "",
              std::optional<std::chrono::seconds> after = {}) {
    dispatcher.on_result(send.channel, send.ticket, {outcome, reply, after}, now);
    keep();
  }
  void keep() {
    for (DeliveryRow& row : dispatcher.take_changes()) rows[{row.notice_id, row.channel}] = row;
  }
  const DeliveryRow& row(const NoticeRecord& record, const std::string& channel = "mail") {
    return rows[{record.id, channel}];
  }
  /// Goes to the next moment at which there is something to do.
  void wake() {
    const auto when = dispatcher.next_wakeup(now);
    ASSERT_TRUE(when.has_value());
    now = std::max(now, *when);
  }
  void later(Nanos span) { now = now + span; }

  Dispatcher dispatcher;
  Timestamp now = kTen;
  Rows rows;
};

inline ChannelPlan plan(const std::string& name = "mail") {
  ChannelPlan plan;
  plan.name = name;
  return plan;
}

inline ChannelPlan until_acknowledged() {
  ChannelPlan repeats = plan();
  repeats.until_acknowledged = true;
  return repeats;
}

}  // namespace brimwatch::desk
