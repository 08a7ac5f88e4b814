#include "journal/print.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/text/text.h"
#include "core/wording.h"

namespace brimwatch {
namespace {

constexpr std::size_t kWidth = 80;
constexpr std::size_t kSymbol = 8, kKind = 14, kPrice = 9;

std::string padded(std::string text, std::size_t width) {
  const std::size_t length = length_of(text);
  text.append(width - std::min(length, width), ' ');
  return text + " ";
}

std::string to_the_right(const std::string& text, std::size_t width) {
  return (text.size() < width ? std::string(width - text.size(), ' ') : "") + text + "  ";
}

std::string price_text(Price price) { return price.is_set() ? to_string(price) : "-"; }

std::string trimmed(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

std::string judgement(const VolumeView& volume) {
  if (volume.why_not != NoJudgement::none || !std::isfinite(volume.surge)) return "volume not judged";
  const long surge = std::lround(volume.surge);
  return to_the_right((surge < 0 ? "" : "+") + std::to_string(surge) + " %", 7) + odds_text(volume.odds, volume.weight) +
         " " + std::string(to_string(volume.weight));
}

bool is_about_a_price(const Notice& notice) {
  return notice.price.is_set() && notice.kind != NoticeKind::self_check && notice.kind != NoticeKind::corrected;
}

std::string when(Timestamp time, std::chrono::seconds offset) { return time.is_set() ? to_clock(time, offset) : "-"; }

std::string json_time(Timestamp time, std::chrono::seconds offset) {
  return time.is_set() ? "\"" + to_rfc3339(time, offset) + "\"" : "null";
}

}  // namespace

std::string table_head(Date day) {
  constexpr const char* kDays[] = {"Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"};
  return to_string(day) + ", " + kDays[day.weekday().c_encoding()] + "\n" + padded("TIME", 9) +
         padded("SYMBOL", kSymbol) + padded("WHAT", kKind) + to_the_right("PRICE", kPrice) +
         to_the_right("PIVOT", kPrice) + to_the_right("SURGE", 7) + "ODDS";
}

std::string table_row(const NoticeRecord& record) {
  const Notice& notice = record.notice;
  std::string line = padded(to_clock(notice.time, record.offset), 9) +
                     padded(clean_line(record.symbol, kSymbol), kSymbol) +
                     padded(std::string(to_string(notice.kind)), kKind);
  if (!is_about_a_price(notice)) return line + clean_line(record.title, kWidth - line.size());
  line += to_the_right(price_text(notice.price), kPrice) + to_the_right(price_text(notice.pivot), kPrice);
  const bool judged = is_pivot_crossing(notice.kind) || notice.kind == NoticeKind::volume_arrived ||
                      notice.kind == NoticeKind::volume_faded || notice.kind == NoticeKind::day_end;
  return trimmed(judged ? line + judgement(notice.volume) : line);
}

std::string delivery_line(const DeliveryRow& row, std::chrono::seconds offset) {
  std::string line =
      std::string(10, ' ') + padded(clean_line(row.channel, 14), 14) + padded(std::string(to_string(row.state)), 9);
  line += padded(row.done.is_set()   ? when(row.done, offset)
                 : row.next.is_set() ? "next " + when(row.next, offset)
                                     : "",
                 8);
  line += std::to_string(row.attempts) + (row.attempts == 1 ? " attempt" : " attempts");
  if (row.unknowns > 0) line += ", " + std::to_string(row.unknowns) + " of unknown outcome";
  if (!row.reply.empty()) line += "; " + clean_line(row.reply, 200);
  return wrap(line, kWidth, 25);
}

std::string to_json(const DeliveryRow& row, std::chrono::seconds offset) {
  std::string out = "{\"delivery_of\":";
  append_json_string(out, row.notice_id);
  out += ",\"channel\":";
  append_json_string(out, row.channel);
  out.append(",\"state\":\"")
      .append(to_string(row.state))
      .append("\",\"attempts\":")
      .append(std::to_string(row.attempts));
  out += ",\"unknown_attempts\":" + std::to_string(row.unknowns) + ",\"next\":" + json_time(row.next, offset);
  out += ",\"done\":" + json_time(row.done, offset) + ",\"digest\":";
  append_json_string(out, row.digest);
  out += ",\"reply\":";
  append_json_string(out, row.reply);
  return out + "}";
}

std::string to_json(const DayRecord& record) {
  const auto price = [](const char* key, Price value) {
    return std::string(",\"") + key + "\":" + (value.is_set() ? to_string(value) : "null");
  };
  std::string out = "{\"day\":\"" + to_string(record.day) + "\",\"symbol\":";
  append_json_string(out, record.symbol);
  char coverage[16];
  const auto end = std::to_chars(coverage, coverage + sizeof coverage, record.coverage, std::chars_format::fixed, 4).ptr;
  out.append(",\"volume\":").append(to_string(record.volume)).append(",\"coverage\":").append(coverage, end);
  out +=
      price("open", record.open) + price("high", record.high) + price("low", record.low) + price("close", record.close);
  return out + ",\"half_day\":" + (record.half_day ? "true}" : "false}");
}

std::string to_json(const Hole& hole, std::chrono::seconds offset) {
  std::string out = "{\"feed\":";
  append_json_string(out, hole.feed);
  out += ",\"symbol\":";
  append_json_string(out, hole.symbol);
  out += ",\"from\":" + json_time(hole.from, offset) + ",\"to\":" + json_time(hole.to, offset) + ",\"why\":";
  append_json_string(out, hole.why);
  return out + "}";
}

std::string speaker_json(const std::string& notice_id, const std::string& member) {
  std::string out = "{\"said_of\":";
  append_json_string(out, notice_id);
  out += ",\"by\":";
  append_json_string(out, member);
  return out + "}";
}

}  // namespace brimwatch
