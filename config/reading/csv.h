#pragma once
// Records of a CSV text, RFC 4180: quotes around a whole cell, "" for a quote in it, line ends allowed inside. Streams
// over the text without copying it; cells are views, but for those that held "".
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

namespace brimwatch {

struct CsvCell {
  std::string_view text;     ///< without quotes; spaces around an unquoted one dropped
  std::uint32_t line = 0;    ///< where it begins, 1-based
  std::uint32_t column = 0;  ///< in characters, 1-based
};

class CsvReader {
 public:
  explicit CsvReader(std::string_view text);

  /// The next record that is neither empty nor a comment ('#' in front). False at the end, or when the text cannot be
  /// read on: then error() says why. The cells are valid until the next call.
  bool next();
  [[nodiscard]] const std::vector<CsvCell>& cells() const { return cells_; }
  [[nodiscard]] std::uint32_t line() const { return line_of_record_; }
  [[nodiscard]] std::string_view error() const { return error_; }  ///< empty: none
  [[nodiscard]] const CsvCell& error_at() const { return error_at_; }

  static constexpr std::size_t kCellsMost = 64;
  static constexpr std::size_t kCellMost = 65'536;  ///< bytes

 private:
  bool quoted_cell();
  bool plain_cell();
  bool stop(std::string_view why);
  void begin_line();
  [[nodiscard]] std::uint32_t column() const;

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t line_start_ = 0;
  std::uint32_t line_ = 1;
  std::uint32_t line_of_record_ = 0;
  std::vector<CsvCell> cells_;
  std::deque<std::string> unescaped_;
  std::string_view error_;
  CsvCell error_at_;
};

}  // namespace brimwatch
