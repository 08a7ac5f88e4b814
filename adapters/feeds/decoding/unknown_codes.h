#pragma once
// Sale conditions that neither the mapping nor the tape's table knows, counted by code, so that a person can map them.
// A trade with one adds volume and moves no price: a source whose every trade has one is blind. And flags for odd lots
// that are neither yes nor no. Pure.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace brimwatch {

class UnknownCodes {
 public:
  struct Row {
    std::string code;  ///< as one printable line, cut to 24 bytes
    std::uint64_t count = 0;
  };

  /// A trade with sale conditions begins; its unknown ones follow.
  void begin_trade();
  void add(std::string_view code);
  /// A flag that says neither that the trade is an odd lot nor that it is none.
  void add_flag(std::string_view text);

  [[nodiscard]] const std::vector<Row>& rows() const { return rows_; }  ///< at most 32, in the order of arrival
  [[nodiscard]] std::uint64_t others() const { return others_; }        ///< codes beyond those
  [[nodiscard]] std::uint64_t trades() const { return trades_; }        ///< that carried any code at all
  [[nodiscard]] std::uint64_t trades_with() const { return trades_with_; }

  /// One line for a person: how many trades, which codes, what to write into the configuration.
  [[nodiscard]] std::string advice() const;

  [[nodiscard]] std::uint64_t flags() const { return flags_; }  ///< trades whose flag was not understood
  [[nodiscard]] std::string flag_advice() const;                ///< as advice()

 private:
  std::vector<Row> rows_;
  std::string flag_;  ///< the first, as a row's code
  std::uint64_t others_ = 0, trades_ = 0, trades_with_ = 0, flags_ = 0;
  bool counted_ = false;  ///< the trade in hand, among trades_with_
};

}  // namespace brimwatch
