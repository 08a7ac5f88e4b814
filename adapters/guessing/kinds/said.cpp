#include "adapters/guessing/kinds/said.h"

#include <set>

#include "adapters/guessing/names.h"

namespace brimwatch {
namespace {

std::optional<MessageKind> said_by(const Sort& sort, const OwnParts& firsts, const OwnParts& seconds) {
  const auto second = seconds.kind_of(sort.second);
  const auto first = firsts.kind_of(sort.word);
  const bool first_is_market = first && is_market(*first);
  return second && (is_market(*second) || !first_is_market) ? second : first;
}

}  // namespace

OwnParts::OwnParts(const std::vector<Sort>& sorts, const std::string Sort::*part) {
  std::set<std::string> words;
  for (const Sort& sort : sorts) {
    if (!(sort.*part).empty()) words.insert(sort.*part);
  }
  for (const std::string& word : words) {
    const auto parts = words_in(word);
    for (const std::string& one : std::set<std::string>(parts.begin(), parts.end())) ++counts_[one];
  }
  words_ = words.size();
}

std::optional<MessageKind> OwnParts::kind_of(const std::string& word) const {
  constexpr std::size_t kPartsOfAPath = 3;
  const auto parts = words_in(word);
  if (parts.size() < kPartsOfAPath || words_ < 2) return kind_of_word(word);
  std::string own;
  for (const std::string& part : parts) {
    if (counts_.at(part) < words_) own += (own.empty() ? "" : ".") + part;
  }
  return kind_of_word(own);
}

SaidKinds::SaidKinds(const Sorts& sorts)
    : sorts_(sorts), firsts_(sorts.sorts, &Sort::word), seconds_(sorts.sorts, &Sort::second) {}

std::optional<MessageKind> SaidKinds::said_of(const Sort& sort) const {
  for (const auto& [word, pointer] :
       {std::pair(sort.second, sorts_.second_pointer), std::pair(sort.word, sorts_.kind_pointer)}) {
    const auto flag = word == "true" ? kind_of_word(pointer.substr(pointer.rfind('/') + 1)) : std::nullopt;
    if (flag == MessageKind::cancel || flag == MessageKind::correct) return flag;
  }
  return said_by(sort, firsts_, seconds_);
}

}  // namespace brimwatch
