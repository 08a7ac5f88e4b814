#pragma once
// Takes the values that a mapping asks for out of one parsed JSON value. For the decoder alone: the parser's types show.
#include <simdjson.h>

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feeds/mapping.h"
#include "adapters/feeds/message.h"

namespace brimwatch {

class ValueWalker {
 public:
  explicit ValueWalker(std::size_t slots) : values_(slots) {}

  // Each returns false when the JSON turns out broken, or a mapped name stands in a message twice; fault() says how.
  bool walk(simdjson::ondemand::value value, const PointerTree& tree, const PointerNode& node);
  bool walk_element(simdjson::ondemand::value value, std::size_t index, const PointerTree& tree, const PointerNode& node);
  [[nodiscard]] const std::string& fault() const { return fault_; }

  /// By slot. Views live as long as the parser's buffer.
  [[nodiscard]] std::vector<FieldValue>& values() { return values_; }
  /// Of the lists among them.
  [[nodiscard]] std::vector<std::string_view>& entries() { return entries_; }

 private:
  bool walk_object(simdjson::ondemand::object object, const PointerTree& tree, const PointerNode& node);
  bool walk_array(simdjson::ondemand::array array, const PointerTree& tree, const PointerNode& node);
  bool capture(simdjson::ondemand::value value, const PointerNode& node);
  bool capture_scalar(simdjson::ondemand::value value, simdjson::ondemand::json_type type, FieldValue& into);
  bool capture_list(simdjson::ondemand::array array, FieldValue& into);
  bool broken(std::string_view what) {
    fault_ = what;
    return false;
  }
  bool broken(simdjson::error_code error) { return broken(simdjson::error_message(error)); }

  std::vector<FieldValue> values_;
  std::vector<std::string_view> entries_;
  std::string fault_;
};

/// Without blanks behind it.
[[nodiscard]] std::string_view trimmed(std::string_view token);

}  // namespace brimwatch
