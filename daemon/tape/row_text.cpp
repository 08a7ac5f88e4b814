#include "tape/row_text.h"

#include <array>
#include <charconv>

#include "tape/row.h"

namespace brimwatch {
namespace {

template <typename Number>
void append_number(std::string& out, Number number) {
  std::array<char, 24> text;
  out.append(text.data(), std::to_chars(text.data(), text.data() + text.size(), number).ptr);
}

void append_digits(std::string& out, std::int64_t number, std::size_t width) {
  std::array<char, 9> text;
  for (std::size_t i = width; i-- > 0; number /= 10) text[i] = static_cast<char>('0' + number % 10);
  out.append(text.data(), width);
}

/// The point and the digits behind it, without zeros at the end; nothing for zero.
void append_fraction(std::string& out, std::int64_t fraction, std::size_t width) {
  if (fraction == 0) return;
  for (; fraction % 10 == 0; fraction /= 10) --width;
  out += '.';
  append_digits(out, fraction, width);
}

/// Zero is left out: an empty field reads as zero, except where a kind needs the number.
void append_micros(std::string& out, std::int64_t micros, bool needed) {
  if (micros == 0 && !needed) return;
  if (micros < 0) {
    out += '-';
    micros = -micros;
  }
  append_number(out, micros / kMicrosPerUnit);
  append_fraction(out, micros % kMicrosPerUnit, 6);
}

void append_time(std::string& out, Timestamp time) {
  Nanos days = time.ns / kDayNanos;
  if (time.ns % kDayNanos < 0) --days;
  const auto ymd = Date{static_cast<std::int32_t>(days)}.ymd();
  const Nanos rest = time.ns - days * kDayNanos;
  append_digits(out, static_cast<int>(ymd.year()), 4);
  out += '-';
  append_digits(out, static_cast<unsigned>(ymd.month()), 2);
  out += '-';
  append_digits(out, static_cast<unsigned>(ymd.day()), 2);
  out += 'T';
  append_digits(out, rest / kHour, 2);
  out += ':';
  append_digits(out, rest / kMinute % 60, 2);
  out += ':';
  append_digits(out, rest / kSecond % 60, 2);
  append_fraction(out, rest % kSecond, 9);
  out += 'Z';
}

void append_text(std::string& out, std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) {
    out += text;
    return;
  }
  out += '"';
  for (const char c : text) out.append(c == '"' ? 2 : 1, c);
  out += '"';
}

}  // namespace

void append_row(std::string& out, const Tick& tick, std::string_view symbol) {
  const bool sized = tick.kind == TickKind::trade || tick.kind == TickKind::correct || tick.kind == TickKind::bar;
  append_time(out, tick.time);
  append_text(out += ',', symbol);
  append_micros(out += ',', tick.price.micros, false);
  append_micros(out += ',', tick.size.micros, sized);
  append_text(out += ',', tick.conditions.view());
  out += ',';
  if (tick.exchange != 0) append_text(out, {&tick.exchange, 1});
  out += ',';
  if (tick.id != 0) append_number(out, tick.id);
  out += ',';
  if (tick.kind != TickKind::trade) out += kTickKinds[static_cast<std::size_t>(tick.kind)];
  append_micros(out += ',', tick.day_volume.micros, false);
  append_micros(out += ',', tick.bid.micros, false);
  append_micros(out += ',', tick.ask.micros, false);
  append_micros(out += ',', tick.bid_size.micros, false);
  append_micros(out += ',', tick.ask_size.micros, false);
  (out += ',') += kTradingStatuses[static_cast<std::size_t>(tick.status)];
  out += ',';
  if (tick.received.is_set()) append_time(out, tick.received);
  out += '\n';
}

}  // namespace brimwatch
