#pragma once
// Under which keys a house keeps what it shares. A notice's id begins with its day, so that what is old goes as one
// range.
#include <string>
#include <string_view>

#include "core/price.h"
#include "core/text/timestamp.h"

namespace brimwatch {

class SharedKeys {
 public:
  explicit SharedKeys(std::string_view house) : prefix_("brimwatch/" + std::string(house) + "/") {}

  [[nodiscard]] const std::string& prefix() const { return prefix_; }
  [[nodiscard]] std::string end() const { return past(prefix_); }
  [[nodiscard]] std::string leader() const { return prefix_ + "leader"; }
  [[nodiscard]] std::string left() const { return prefix_ + "left"; }  ///< who ceased to speak of its own will
  [[nodiscard]] std::string member(std::string_view name) const { return prefix_ + "member/" + std::string(name); }
  [[nodiscard]] std::string list(std::string_view name) const { return prefix_ + "list/" + std::string(name); }
  [[nodiscard]] std::string rules(std::string_view name) const { return prefix_ + "rules/" + std::string(name); }
  [[nodiscard]] std::string notice(std::string_view id) const { return prefix_ + "notice/" + std::string(id); }
  [[nodiscard]] std::string deliveries() const { return prefix_ + "delivery/"; }
  [[nodiscard]] std::string delivery(std::string_view id, std::string_view channel) const {
    return deliveries() + std::string(id) + "/" + std::string(channel);
  }
  [[nodiscard]] std::string acknowledgement(std::string_view id) const { return prefix_ + "ack/" + std::string(id); }
  /// All answers begin with the exchange's day on which they were given; an empty id: those of that day and later.
  [[nodiscard]] std::string answers() const { return prefix_ + "answer/"; }
  [[nodiscard]] std::string answer(Date day, std::string_view id) const {
    return answers() + to_string(day) + "/" + std::string(id);
  }
  [[nodiscard]] std::string watch(std::string_view symbol, Price pivot) const {
    return prefix_ + "watch/" + std::string(symbol) + "/" + to_string(pivot);
  }
  [[nodiscard]] std::string state(std::string_view symbol) const { return prefix_ + "state/" + std::string(symbol); }

  /// The first key after all that begin with `start`.
  [[nodiscard]] static std::string past(std::string start) {
    ++start.back();
    return start;
  }
  /// "notice", "watch" ... of a key of this house; empty: another's.
  [[nodiscard]] std::string_view kind_of(std::string_view key) const {
    if (key.substr(0, prefix_.size()) != prefix_) return {};
    key.remove_prefix(prefix_.size());
    return key.substr(0, key.find('/'));
  }

 private:
  std::string prefix_;
};

}  // namespace brimwatch
