#include "volume/learning/learned_file.h"

#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstring>
#include <vector>

#include "files/own_files.h"
#include "files/text_file.h"
#include "volume/learning/learning.h"

namespace brimwatch {
namespace {

constexpr int kVersion = 1;

std::string number(double value) {
  char text[32];
  const auto [end, problem] = std::to_chars(text, text + sizeof text, value);
  return std::string(text, problem == std::errc() ? end : text);
}

template <typename List>
std::string listed(const List& values, std::size_t count) {
  std::string text = "[";
  for (std::size_t i = 0; i < count; ++i) text += (i > 0 ? ", " : "") + number(static_cast<double>(values[i]));
  return text + "]";
}

std::string one_text(const std::string& symbol, const Learned& l) {
  std::string text = "\n[\"" + symbol + "\"]\n";
  text += "last_day = " + to_string(l.last_day) + "\n";
  text += "days = " + std::to_string(l.days) + "\n";
  text += "kappa = " + number(l.kappa) + "\n";
  text += "ratio_count = " + std::to_string(l.ratio_count) + "\n";
  text += "ratios = " + listed(l.ratios, static_cast<std::size_t>(l.ratio_days)) + "\n";
  text += "seen = " + listed(l.seen, kKnots) + "\n";
  text += "weight = " + listed(l.weight, kKnots) + "\n";
  text += "log_share = " + listed(l.log_share, kKnots) + "\n";
  text += "log_variance = " + listed(l.log_variance, kKnots) + "\n";
  return text;
}

/// A name that a line of the file can hold. A blank one is a gap in somebody's bars, not a stock.
bool is_symbol(std::string_view symbol) {
  return !symbol.empty() && std::all_of(symbol.begin(), symbol.end(), [](char c) {
    return static_cast<unsigned char>(c) >= ' ' && c != '"' && c != '\\';
  });
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r')) text.remove_suffix(1);
  return text;
}

bool read_number(std::string_view text, double& value) {
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  return problem == std::errc() && end == text.data() + text.size() && std::isfinite(value);
}

/// "[1, 2.5]" into at most `room` numbers; -1 when it is anything else.
template <typename List>
int read_list(std::string_view text, List& into, std::size_t room) {
  if (text.size() < 2 || text.front() != '[' || text.back() != ']') return -1;
  text = trimmed(text.substr(1, text.size() - 2));
  std::size_t count = 0;
  while (!text.empty()) {
    const std::size_t comma = text.find(',');
    double value = 0;
    if (count >= room || !read_number(trimmed(text.substr(0, comma)), value)) return -1;
    into[count++] = static_cast<std::remove_reference_t<decltype(into[0])>>(value);
    text = comma == std::string_view::npos ? std::string_view() : trimmed(text.substr(comma + 1));
  }
  return static_cast<int>(count);
}

bool read_count(std::string_view text, int& value) {
  double number = 0;
  if (!read_number(text, number) || number < 0 || number > 1e6 || number != std::floor(number)) return false;
  value = static_cast<int>(number);
  return true;
}

bool set_field(Learned& l, std::string_view key, std::string_view value) {
  if (key == "last_day") {
    const auto day = parse_date(value);
    if (day) l.last_day = *day;
    return day.has_value();
  }
  if (key == "days") return read_count(value, l.days);
  if (key == "kappa") return read_number(value, l.kappa) && l.kappa > 0 && l.kappa < 10;
  if (key == "ratio_count") return read_count(value, l.ratio_count);
  if (key == "ratios") return (l.ratio_days = read_list(value, l.ratios, l.ratios.size())) >= 0;
  if (key == "seen") return read_list(value, l.seen, kKnots) == kKnots;
  if (key == "weight") return read_list(value, l.weight, kKnots) == kKnots;
  if (key == "log_share") return read_list(value, l.log_share, kKnots) == kKnots;
  if (key == "log_variance") return read_list(value, l.log_variance, kKnots) == kKnots;
  return false;
}

/// What follows from the fields: the curve and the ratio.
bool complete(Learned& l) {
  if (l.ratio_days > l.ratio_count) return false;
  for (const double one : l.log_share) {
    if (one > 0) return false;
  }
  if (l.days > 0) l.curve = blended_curve(l);
  renew_ratio(l);
  return true;
}

}  // namespace

std::string learned_text(const LearnedBySymbol& all) {
  std::string text =
      "# Curves learned by brimwatch. A curve is the natural log of the share of the day's volume done at the minutes\n#";
  for (const double minute : kKnotMinutes) text += " " + number(minute);
  text += " of a 390-minute session; see `brimwatch learn --show SYMBOL`.\nversion = " + std::to_string(kVersion) + "\n";
  for (const auto& [symbol, learned] : all) {
    if (is_symbol(symbol)) text += one_text(symbol, learned);
  }
  return text;
}

Result<LearnedBySymbol> parse_learned(std::string_view text, const std::string& name) {
  LearnedBySymbol all;
  Learned* current = nullptr;
  bool versioned = false;
  for (std::size_t number = 1; !text.empty(); ++number) {
    const std::size_t end = text.find('\n');
    const std::string_view line = trimmed(text.substr(0, end));
    text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
    const auto refuse = [&](const std::string& allowed) {
      return fail(name + ":" + std::to_string(number) + ":1: found \"" + std::string(line.substr(0, 60)) +
                  "\", expected " + allowed + "; the curves were not loaded, `brimwatch learn` makes them anew");
    };
    if (line.empty() || line.front() == '#') continue;
    if (line.size() >= 4 && line.substr(0, 2) == "[\"" && line.substr(line.size() - 2) == "\"]") {
      if (!versioned) return refuse("version = 1 first");
      current = &all[std::string(line.substr(2, line.size() - 4))];
      continue;
    }
    const std::size_t equals = line.find('=');
    if (equals == std::string_view::npos) return refuse("[\"SYMBOL\"] or key = value");
    const std::string_view key = trimmed(line.substr(0, equals)), value = trimmed(line.substr(equals + 1));
    if (current == nullptr && key == "version") {
      if (value != std::to_string(kVersion)) return refuse("version = 1: another version of brimwatch wrote it");
      versioned = true;
    } else if (current == nullptr || !set_field(*current, key, value)) {
      return refuse("a known key with a value that fits");
    }
  }
  std::erase_if(all, [](const auto& one) { return !is_symbol(one.first); });  // older versions wrote such
  for (auto& [symbol, learned] : all) {
    if (!complete(learned))
      return fail(name + ": the curve of " + symbol + " does not fit together; the curves were not loaded");
  }
  return all;
}

Result<LearnedBySymbol> read_learned(const std::string& path) {
  if (!is_there(path)) return LearnedBySymbol();
  const auto text = read_file(path);
  return text ? parse_learned(*text, path) : fail(text.error().text + "; the curves were not loaded");
}

Status write_learned(const std::string& path, const LearnedBySymbol& all) {
  Status written = make_folder_of(path);
  if (written) written = replace_file(path, learned_text(all));
  return written ? written : fail(written.error().text + "; the old curves are still there");
}

}  // namespace brimwatch
