#include "rehearsal/misbehaviour.h"

#include <array>
#include <string>

#include "core/price.h"

namespace brimwatch {
namespace {

struct Entry {
  std::string_view word;
  Misbehaviour::Kind kind;
  double usual, least, most;
  std::string_view unit;
};

using Kind = Misbehaviour::Kind;
constexpr double kLongest = 86'400;
constexpr std::array kTable{
    Entry{"stall", Kind::stall, 30, 0.001, kLongest, "seconds"},
    Entry{"lose", Kind::lose, 30, 0.001, kLongest, "seconds"},
    Entry{"away", Kind::away, 30, 0.001, kLongest, "seconds"},
    Entry{"close", Kind::close, 1001, 400, 4999, "a close code, or a status from 400 to 599 for a poll"},
    Entry{"cut", Kind::cut, 0, 0, 0, "no amount"},
    Entry{"delay", Kind::delay, 90, 0.001, kLongest, "seconds"},
    Entry{"drop", Kind::drop, 1, 0.001, 100, "percent of the messages"},
    Entry{"garbage", Kind::garbage, 1, 0.001, 100, "percent of the messages"},
    Entry{"duplicate", Kind::duplicate, 1, 0.001, 100, "percent of the messages"},
    Entry{"reorder", Kind::reorder, 1, 0.001, 100, "percent of the messages"},
};

std::string words() {
  std::string out;
  for (const Entry& entry : kTable) out.append(out.empty() ? "" : ", ").append(entry.word);
  return out;
}

std::optional<double> amount_of(const Entry& entry, std::string_view text) {
  const auto micros = parse_micros(text, Extra::refuse);
  if (!micros) return std::nullopt;
  const double amount = static_cast<double>(*micros) / 1e6;
  return amount >= entry.least && amount <= entry.most ? std::optional(amount) : std::nullopt;
}

}  // namespace

std::optional<int> parse_second_of_day(std::string_view text) {
  if (text.size() != 5 && text.size() != 8) return std::nullopt;
  int parts[3] = {};
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (i % 3 == 2 ? c != ':' : c < '0' || c > '9') return std::nullopt;
    if (i % 3 != 2) parts[i / 3] = parts[i / 3] * 10 + (c - '0');
  }
  if (parts[0] > 23 || parts[1] > 59 || parts[2] > 59) return std::nullopt;
  return (parts[0] * 60 + parts[1]) * 60 + parts[2];
}

Result<Misbehaviour> parse_misbehaviour(std::string_view text) {
  const std::string found = "found \"" + std::string(text) + "\", expected ";
  std::string_view rest = text;
  Misbehaviour out;
  if (const std::size_t at = rest.find('@'); at != rest.npos) {
    const auto moment = parse_second_of_day(rest.substr(at + 1));
    if (!moment) return fail(found + "a moment such as 10:15 or 10:15:30 behind the @");
    out.second_of_day = *moment;
    out.timed = true;
    rest = rest.substr(0, at);
  }
  const std::size_t colon = rest.find(':');
  for (const Entry& entry : kTable) {
    if (entry.word != rest.substr(0, colon)) continue;
    out.kind = entry.kind;
    out.amount = entry.usual;
    if (colon == rest.npos) return out;
    const auto amount = amount_of(entry, rest.substr(colon + 1));
    if (!amount) return fail(found + std::string(entry.unit) + " behind " + std::string(entry.word));
    out.amount = *amount;
    return out;
  }
  return fail(found + "one of " + words() + ", such as stall:30@10:15");
}

}  // namespace brimwatch
