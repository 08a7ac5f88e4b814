#pragma once
// What the words that tell sorts apart say of their kinds. Pure.
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "adapters/guessing/kinds.h"

namespace brimwatch {

/// Of words that have parts in common ("com.market.trade", "com.market.quote") those do not say the kind.
class OwnParts {
 public:
  OwnParts(const std::vector<Sort>& sorts, const std::string Sort::*part);
  [[nodiscard]] std::optional<MessageKind> kind_of(const std::string& word) const;

 private:
  std::map<std::string, std::size_t> counts_;
  std::size_t words_ = 0;
};

class SaidKinds {
 public:
  explicit SaidKinds(const Sorts& sorts);
  [[nodiscard]] std::optional<MessageKind> said_of(const Sort& sort) const;

 private:
  const Sorts& sorts_;
  const OwnParts firsts_, seconds_;
};

}  // namespace brimwatch
