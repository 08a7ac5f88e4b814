#include "config/reading/csv.h"

#include "config/reading/text.h"
#include "core/text/csv_line.h"

namespace brimwatch {

CsvReader::CsvReader(std::string_view text) : text_(text) {
  if (text_.substr(0, 3) == "\xEF\xBB\xBF") text_.remove_prefix(3);
}

std::uint32_t CsvReader::column() const {
  return static_cast<std::uint32_t>(characters(text_.substr(line_start_, at_ - line_start_)) + 1);
}

bool CsvReader::stop(std::string_view why) {
  error_ = why;
  error_at_ = {{}, line_, column()};
  return false;
}

/// Steps over the line end that at_ stands on.
void CsvReader::begin_line() {
  if (text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n') ++at_;
  ++at_;
  ++line_;
  line_start_ = at_;
}

bool CsvReader::quoted_cell() {
  CsvCell cell{{}, line_, column()};
  const QuotedText quoted = read_quoted(text_.substr(at_, kCellMost + 3));  // a whole cell, its quotes, what comes next
  if (!quoted.closed || quoted.inside.size() > kCellMost) {
    error_ = "found a quote that is never closed, expected a second one";
    error_at_ = cell;
    return false;
  }
  const std::size_t begin = at_ + 1;
  for (std::size_t i = 0; i < quoted.inside.size(); ++i) {
    if (quoted.inside[i] != '\n') continue;
    ++line_;
    line_start_ = begin + i + 1;
  }
  at_ = begin + quoted.inside.size() + 1;
  cell.text = quoted.doubled ? unescaped_.emplace_back(with_single_quotes(quoted.inside)) : quoted.inside;
  cells_.push_back(cell);
  const bool whole = at_ >= text_.size() || text_[at_] == ',' || text_[at_] == '\n' || text_[at_] == '\r';
  return whole || stop("found text after a closing quote, expected a comma or the line's end");
}

bool CsvReader::plain_cell() {
  while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) ++at_;
  if (at_ < text_.size() && text_[at_] == '"') return quoted_cell();
  CsvCell cell{{}, line_, column()};
  const std::size_t begin = at_;
  for (; at_ < text_.size(); ++at_) {
    const char c = text_[at_];
    if (c == ',' || c == '\n' || c == '\r') break;
    if (c == '"') return stop("found a quote inside a cell, expected quotes around the whole cell");
  }
  std::size_t end = at_;
  while (end > begin && (text_[end - 1] == ' ' || text_[end - 1] == '\t')) --end;
  if (end - begin > kCellMost) return stop("found a cell of more than 65536 bytes");
  cell.text = text_.substr(begin, end - begin);
  cells_.push_back(cell);
  return true;
}

bool CsvReader::next() {
  if (!error_.empty()) return false;
  while (at_ < text_.size() && (text_[at_] == '\n' || text_[at_] == '\r' || text_[at_] == '#')) {
    while (at_ < text_.size() && text_[at_] != '\n' && text_[at_] != '\r') ++at_;
    if (at_ < text_.size()) begin_line();
  }
  if (at_ >= text_.size()) return false;
  cells_.clear();
  unescaped_.clear();
  line_of_record_ = line_;
  for (;;) {
    if (!plain_cell()) return false;
    if (cells_.size() > kCellsMost) return stop("found more than 64 cells in a record");
    if (at_ >= text_.size()) return true;
    if (text_[at_] == ',') {
      ++at_;
      continue;
    }
    begin_line();
    return true;
  }
}

}  // namespace brimwatch
