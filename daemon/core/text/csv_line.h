#pragma once
// One line of separated values into fields, RFC 4180: quotes around a whole field, so that a separator may stand in it,
// "" for a quote. Past days and bars are read with it; a watch list, whose cells may go over several lines, with
// config/csv, which reads quotes by the same two functions. Pure.
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

namespace brimwatch {

/// A cell in quotes.
struct QuotedText {
  std::string_view inside;  ///< what is between the quotes, each "" as it stands there
  bool doubled = false;     ///< there is a "" in it
  bool closed = false;      ///< false: the text ends before the second quote
};

/// `text` begins with the first quote; what follows the second one is passed over.
[[nodiscard]] QuotedText read_quoted(std::string_view text);

/// Each "" as one quote.
[[nodiscard]] std::string with_single_quotes(std::string_view inside);

/// What parts the columns of a file with this header: a comma, unless there are more semicolons or more tabs.
[[nodiscard]] char delimiter_of(std::string_view header);

class CsvLine {
 public:
  /// Fields are views of `line`, without quotes and blanks around them. False when it cannot be told where they end:
  /// problem() says why, and the fields before that place are there.
  bool split(std::string_view line, char delimiter = ',');

  [[nodiscard]] std::size_t size() const { return fields_.size(); }
  [[nodiscard]] std::string_view operator[](std::size_t i) const { return fields_[i]; }
  /// The field, or nothing where the line has less of them (or the file has no such column: -1).
  [[nodiscard]] std::string_view at(int i) const {
    return i >= 0 && static_cast<std::size_t>(i) < fields_.size() ? fields_[static_cast<std::size_t>(i)]
                                                                  : std::string_view();
  }
  [[nodiscard]] auto begin() const { return fields_.begin(); }
  [[nodiscard]] auto end() const { return fields_.end(); }

  /// Fields, a last one that is empty not counted: many files end their lines with a separator. A row that is wider than
  /// its header has values in columns where they do not belong.
  [[nodiscard]] std::size_t width() const {
    return fields_.size() - (!fields_.empty() && fields_.back().empty() ? 1 : 0);
  }
  /// Byte of the line, from 1, at which a field begins, with its quote. For i >= size(): that of the problem, or the one
  /// behind the line where there is none.
  [[nodiscard]] std::size_t column(std::size_t i) const;
  /// "found ..., expected ..."; empty: none.
  [[nodiscard]] std::string_view problem() const { return problem_; }

  static constexpr std::size_t kFieldsMost = 1024;

 private:
  bool split_quoted(std::string_view line, char delimiter);
  bool take_quoted(std::string_view line, char delimiter, std::size_t& at);
  bool take_bare(std::string_view line, char delimiter, std::size_t& at);
  bool stop(std::string_view why, std::size_t at);

  std::vector<std::string_view> fields_;
  std::vector<std::size_t> starts_;    ///< of fields, where the line has quotes; else they follow from the views
  std::deque<std::string> unescaped_;  ///< fields that held ""
  const char* line_ = nullptr;
  std::string_view problem_;
  std::size_t problem_at_ = 0;
};

}  // namespace brimwatch
