#pragma once
// One CSV record as text, after RFC 4180: fields apart, quotes taken off. The plain, complete reading; fast_rows.h reads
// the common rows without it.
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

namespace brimwatch {

struct RecordField {
  std::string_view text;
  std::uint32_t column = 1;  ///< 1-based byte in the record, for messages
};

struct RecordText {
  enum class State : std::uint8_t {
    whole,        ///< fields are there
    more,         ///< the text ends before the record does
    stray_quote,  ///< a quote where none may stand: column says where; the record ends at the end of its line
    open_quote,   ///< like `more`, inside quotes
  };
  State state = State::more;
  std::size_t length = 0;            ///< bytes up to and with the line end
  std::uint32_t lines = 1;           ///< line ends in it
  std::uint32_t column = 0;          ///< of the stray or open quote
  std::vector<RecordField> fields;   ///< views into the text, or into `unquoted`
  std::deque<std::string> unquoted;  ///< never moves a string, so that views of it hold

  /// Reads the record at the start of `text`. LF and CRLF both end one.
  void read(std::string_view text);

 private:
  void start_over();
  bool read_quoted(std::string_view text, std::size_t& at);
  void give_up(std::string_view text, State why, std::size_t at);
};

}  // namespace brimwatch
