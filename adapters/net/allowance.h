#pragma once
// A rate limit by client: each has tokens that grow back with time, and one without tokens is turned away (a token
// bucket, common practice). When the table is full, the client with the most tokens is forgotten. Pure: the time is an
// argument.
#include <algorithm>
#include <cstdint>
#include <map>
#include <string>

#include "core/text/timestamp.h"

namespace brimwatch {

class Allowance {
 public:
  struct Terms {
    double most = 60;          ///< at once
    double a_second = 15;      ///< that grow back
    std::size_t known = 1024;  ///< who are remembered
  };
  explicit Allowance(Terms terms) : terms_(terms) {}

  /// Takes one; false where there is none.
  [[nodiscard]] bool take(const std::string& who, Nanos now) {
    const auto found = purses_.find(who);
    Purse& purse = found != purses_.end() ? found->second : open(who, now);
    purse.tokens = left(purse, now);
    purse.at = now;
    if (purse.tokens < 1) return false;
    purse.tokens -= 1;
    return true;
  }
  [[nodiscard]] std::size_t known() const { return purses_.size(); }

 private:
  struct Purse {
    double tokens = 0;
    Nanos at = 0;
  };
  [[nodiscard]] double left(const Purse& purse, Nanos now) const {
    const double seconds = static_cast<double>(std::max<Nanos>(0, now - purse.at)) / kSecond;
    return std::min(terms_.most, purse.tokens + seconds * terms_.a_second);
  }
  Purse& open(const std::string& who, Nanos now) {
    const auto has_less = [&](const auto& a, const auto& b) { return left(a.second, now) < left(b.second, now); };
    if (purses_.size() >= terms_.known) purses_.erase(std::max_element(purses_.begin(), purses_.end(), has_less));
    return purses_.emplace(who, Purse{terms_.most, now}).first->second;
  }

  Terms terms_;
  std::map<std::string, Purse> purses_;
};

}  // namespace brimwatch
