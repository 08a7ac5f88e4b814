#include "adapters/feeds/decoding/unknown_codes.h"

#include <algorithm>
#include <utility>

#include "adapters/feeds/decoding/excerpt.h"

namespace brimwatch {
namespace {

constexpr std::size_t kRowsMost = 32, kCodeLongest = 24, kNamedMost = 5;

}  // namespace

void UnknownCodes::begin_trade() {
  ++trades_;
  counted_ = false;
}

void UnknownCodes::add(std::string_view code) {
  if (!std::exchange(counted_, true)) ++trades_with_;
  std::string shown = excerpt(code, kCodeLongest);
  const auto found = std::find_if(rows_.begin(), rows_.end(), [&](const Row& row) { return row.code == shown; });
  if (found != rows_.end()) ++found->count;
  else if (rows_.size() < kRowsMost) rows_.push_back({std::move(shown), 1});
  else ++others_;
}

std::string UnknownCodes::advice() const {
  std::string codes, example;
  for (std::size_t i = 0; i < std::min(rows_.size(), kNamedMost); ++i) {
    codes += (i == 0 ? "\"" : ", \"") + rows_[i].code + "\"";
  }
  if (rows_.size() > kNamedMost || others_ > 0) codes += " and others";
  if (!rows_.empty()) example = rows_.front().code;
  return std::to_string(trades_with_) + " of " + std::to_string(trades_) +
         " trades have a sale condition that is not mapped (" + codes +
         "): they add volume and move no price. Say which code of the tape each one is, \"@\" for a regular sale: " +
         "condition_words = { \"" + example + "\" = \"@\" }";
}

void UnknownCodes::add_flag(std::string_view text) {
  if (flags_++ == 0) flag_ = excerpt(text, kCodeLongest);
}

std::string UnknownCodes::flag_advice() const {
  return std::to_string(flags_) + (flags_ == 1 ? " trade has" : " trades have") + " a flag for odd lots that is \"" +
         flag_ +
         "\", expected yes or no (true, \"Y\", 1; false, \"N\", 0): they are taken for round lots. Does odd_lot "
         "name the right field?";
}

}  // namespace brimwatch
