#pragma once
// One-time codes that let a device in: each is good once, for ten minutes. Who guesses has ten tries, and then no code is
// good any more. Pure: time and random numbers are arguments.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/device_right.h"
#include "core/text/timestamp.h"

namespace brimwatch {

class Pairing {
 public:
  static constexpr Nanos kGoodFor = 600 * kSecond;
  static constexpr int kTriesMost = 10;
  static constexpr std::size_t kCodesMost = 8;  ///< more: the oldest goes
  static constexpr std::size_t kRandomBytes = 12;

  struct Offer {
    std::string name;
    DeviceRight right = DeviceRight::look;
  };

  /// A new code, "ABCD-EFGH-JKMN": 60 bits, of letters and digits that are not mistaken for each other.
  [[nodiscard]] std::string offer(Offer offer, std::string_view random, Nanos now);

  /// What that code was made for, once. Case, blanks and dashes do not matter; empty: no such code, or used up.
  [[nodiscard]] std::optional<Offer> take(std::string_view code, Nanos now);

  [[nodiscard]] std::size_t open(Nanos now);

 private:
  struct Code {
    std::string text;
    Offer offer;
    Nanos until;
  };
  void forget_old(Nanos now);
  std::vector<Code> codes_;
  int wrong_ = 0;  ///< tries since the last new code
};

}  // namespace brimwatch
