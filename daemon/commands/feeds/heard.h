#pragma once
// What a feed that is tried sends: how much of each sort, the first of each with what every value became, what could not
// be read and why, how late it is. No I/O, no clock.
#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feeds/decoding/decoder.h"
#include "config/settings.h"

namespace brimwatch {

struct HeardSort {
  std::string
      name;  ///< "trade", "quote", ..., "passed over", "of unknown kind", "not readable", "of symbols not asked for"
  std::uint64_t messages = 0;
  std::string example;              ///< the first, as it came, on one line
  std::vector<std::string> values;  ///< "price       /p               48.35 -> 48.35"
  std::string why;                  ///< of what was not readable
};

class Heard {
 public:
  /// `secret` is blotted out of everything that is kept.
  static Result<Heard> make(const FeedSettings& settings, const std::vector<std::string>& asked, std::string secret);

  void take(std::string_view frame, Timestamp received);

  [[nodiscard]] const std::vector<HeardSort>& sorts() const { return sorts_; }
  [[nodiscard]] std::uint64_t frames() const { return frames_; }
  [[nodiscard]] std::uint64_t ticks() const { return ticks_; }
  [[nodiscard]] std::uint64_t unreadable() const;
  [[nodiscard]] std::vector<std::string> silent_symbols() const;  ///< asked for and not heard
  [[nodiscard]] std::size_t heard_symbols() const { return heard_.size(); }
  [[nodiscard]] const UnknownCodes& unknown_codes() const { return decoder_.unknown_codes(); }
  /// Seconds between the exchange's time and ours, over all ticks: in the middle and at most; empty where there are none.
  [[nodiscard]] std::vector<double> delays() const;

 private:
  Heard(const FeedSettings& settings, std::unique_ptr<SymbolTable> symbols, Decoder decoder,
        const std::vector<std::string>& asked, std::string secret);
  HeardSort& sort(const std::string& name, std::string_view frame);
  void take_tick(const Tick& tick, std::string_view frame, std::size_t number);

  FeedSettings settings_;
  std::unique_ptr<SymbolTable> symbols_;
  Decoder decoder_;
  std::string secret_;
  std::set<std::string> asked_, heard_;
  std::vector<HeardSort> sorts_;
  std::vector<double> delays_;
  std::uint64_t frames_ = 0, ticks_ = 0;
};

}  // namespace brimwatch
