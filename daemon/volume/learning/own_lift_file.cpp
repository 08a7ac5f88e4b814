// The file of what the user's own crossings taught: a line a month, RFC 4180.
#include <array>
#include <charconv>
#include <cmath>
#include <string>

#include "core/text/csv_line.h"
#include "files/own_files.h"
#include "files/text_file.h"
#include "volume/learning/own_lift.h"

namespace brimwatch {
namespace {

constexpr std::string_view kHeader = "since,lift,crossings,days,from,to";
constexpr std::size_t kMonthsMost = 600;  // the newest fifty years
constexpr double kLiftMost = .5;          // beyond it no month has taught it

bool read_one(std::string_view text, Date& into) {
  const auto day = parse_date(text);
  if (day) into = *day;
  return day.has_value();
}

template <typename Number>
bool read_one(std::string_view text, Number& into) {
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), into);
  return problem == std::errc() && end == text.data() + text.size();
}

bool read_row(const CsvLine& row, OwnLift& into) {
  return row.width() == 6 && read_one(row[0], into.since) && read_one(row[1], into.lift) &&
         read_one(row[2], into.crossings) && read_one(row[3], into.days) && read_one(row[4], into.from) &&
         read_one(row[5], into.to) && std::fabs(into.lift) <= kLiftMost && into.crossings >= 0 && into.days >= 0;
}

std::string row_text(const OwnLift& one) {
  std::array<char, 32> lift{};
  const auto end = std::to_chars(lift.data(), lift.data() + lift.size(), one.lift).ptr;
  return to_string(one.since) + "," + std::string(lift.data(), end) + "," + std::to_string(one.crossings) + "," +
         std::to_string(one.days) + "," + to_string(one.from) + "," + to_string(one.to) + "\n";
}

}  // namespace

std::string own_lift_file(const std::string& learned_file) {
  const std::size_t dot = learned_file.rfind('.'), slash = learned_file.rfind('/');
  const bool has_ending = dot != std::string::npos && (slash == std::string::npos || dot > slash);
  return learned_file.substr(0, has_ending ? dot : std::string::npos) + "-crossings.csv";
}

std::string own_lift_text(const OwnLifts& lifts) {
  std::string text = std::string(kHeader) + "\n";
  const std::size_t first = lifts.size() > kMonthsMost ? lifts.size() - kMonthsMost : 0;
  for (std::size_t i = first; i < lifts.size(); ++i) text += row_text(lifts[i]);
  return text;
}

Result<OwnLifts> parse_own_lifts(std::string_view text, const std::string& name) {
  OwnLifts out;
  CsvLine row;
  for (std::size_t number = 1; !text.empty(); ++number) {
    const std::size_t end = text.find('\n');
    std::string_view line = text.substr(0, end);
    text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    const auto refuse = [&](const std::string& allowed) {
      return fail(name + ":" + std::to_string(number) + ":1: found \"" + std::string(line.substr(0, 60)) +
                  "\", expected " + allowed +
                  "; what own crossings taught was not loaded, the next month teaches it anew without this file");
    };
    if (number == 1) {
      if (line != kHeader) return refuse(std::string(kHeader));
      continue;
    }
    if (line.empty()) continue;
    OwnLift one;
    if (!row.split(line) || !read_row(row, one)) return refuse("values for " + std::string(kHeader));
    if (!out.empty() && one.since <= out.back().since) return refuse("a later day than in the line before");
    out.push_back(one);
  }
  return out;
}

Result<OwnLifts> read_own_lifts(const std::string& path) {
  if (!is_there(path)) return OwnLifts();
  const auto text = read_file(path);
  return text ? parse_own_lifts(*text, path) : fail(text.error().text + "; what own crossings taught was not loaded");
}

Status write_own_lifts(const std::string& path, const OwnLifts& lifts) {
  Status written = make_folder_of(path);
  if (written) written = replace_file(path, own_lift_text(lifts));
  return written ? written : fail(written.error().text + "; what own crossings taught before is still there");
}

}  // namespace brimwatch
