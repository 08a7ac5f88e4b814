#include "core/text/csv_line.h"

#include <algorithm>

namespace brimwatch {
namespace {

constexpr std::string_view kTooMany = "found more than 1024 fields, expected 1024 at the most";

bool is_edge(char c) { return c == ' ' || c == '\t' || c == '\r'; }

std::string_view without_edges(std::string_view text) {
  while (!text.empty() && is_edge(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_edge(text.back())) text.remove_suffix(1);
  return text;
}

/// Past blanks that do not part fields themselves.
std::size_t past_edges(std::string_view line, std::size_t at, char delimiter) {
  while (at < line.size() && line[at] != delimiter && is_edge(line[at])) ++at;
  return at;
}

}  // namespace

QuotedText read_quoted(std::string_view text) {
  QuotedText out;
  std::size_t at = text.find('"', 1);
  while (at != std::string_view::npos && at + 1 < text.size() && text[at + 1] == '"') {
    out.doubled = true;
    at = text.find('"', at + 2);
  }
  out.closed = at != std::string_view::npos;
  out.inside = text.substr(1, out.closed ? at - 1 : at);
  return out;
}

std::string with_single_quotes(std::string_view inside) {
  std::string plain;
  for (std::size_t i = 0; i < inside.size(); ++i) {
    plain += inside[i];
    if (inside[i] == '"') ++i;
  }
  return plain;
}

char delimiter_of(std::string_view header) {
  char most = ',';
  for (const char candidate : {';', '\t'}) {
    if (std::count(header.begin(), header.end(), candidate) > std::count(header.begin(), header.end(), most))
      most = candidate;
  }
  return most;
}

std::size_t CsvLine::column(std::size_t i) const {
  if (i >= fields_.size()) return problem_at_ + 1;
  return 1 + (starts_.empty() ? static_cast<std::size_t>(fields_[i].data() - line_) : starts_[i]);
}

bool CsvLine::stop(std::string_view why, std::size_t at) {
  problem_ = why;
  problem_at_ = at;
  return false;
}

bool CsvLine::split(std::string_view line, char delimiter) {
  fields_.clear();
  starts_.clear();
  problem_ = {};
  problem_at_ = line.size();
  line_ = line.data();
  // Nearly all lines have no quote, and are asked only this. Byte by byte: fields are too short for a search in each.
  std::size_t from = 0;
  for (std::size_t i = 0; i <= line.size(); ++i) {
    if (i < line.size() && line[i] != delimiter) {
      if (line[i] == '"') return split_quoted(line, delimiter);
      continue;
    }
    if (fields_.size() == kFieldsMost) return stop(kTooMany, from);
    fields_.push_back(without_edges(line.substr(from, i - from)));
    from = i + 1;
  }
  return true;
}

bool CsvLine::split_quoted(std::string_view line, char delimiter) {
  fields_.clear();
  unescaped_.clear();
  for (std::size_t at = 0;; ++at) {
    at = past_edges(line, at, delimiter);
    if (fields_.size() == kFieldsMost) return stop(kTooMany, at);
    const std::size_t start = at;
    const bool quoted = at < line.size() && line[at] == '"';
    if (!(quoted ? take_quoted(line, delimiter, at) : take_bare(line, delimiter, at))) return false;
    starts_.push_back(start);
    if (at >= line.size()) return true;
  }
}

/// Moves `at` to the separator behind the field, or the line's end; so does take_bare.
bool CsvLine::take_quoted(std::string_view line, char delimiter, std::size_t& at) {
  const QuotedText quoted = read_quoted(line.substr(at));
  if (!quoted.closed) return stop("found a quote that is never closed, expected a second one in the same line", at);
  at = past_edges(line, at + quoted.inside.size() + 2, delimiter);
  if (at < line.size() && line[at] != delimiter) {
    return stop("found text after a closing quote, expected a separator or the line's end", at);
  }
  const std::string_view field =
      quoted.doubled ? unescaped_.emplace_back(with_single_quotes(quoted.inside)) : quoted.inside;
  fields_.push_back(without_edges(field));
  return true;
}

bool CsvLine::take_bare(std::string_view line, char delimiter, std::size_t& at) {
  const std::string_view field = line.substr(at, line.find(delimiter, at) - at);
  if (const std::size_t quote = field.find('"'); quote != std::string_view::npos)
    return stop("found a quote inside a field, expected quotes around the whole field", at + quote);
  at += field.size();
  fields_.push_back(without_edges(field));
  return true;
}

}  // namespace brimwatch
