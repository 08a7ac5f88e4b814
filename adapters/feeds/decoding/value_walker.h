#pragma once
// Takes the values that a mapping asks for out of one parsed JSON value. For the decoder alone: the parser's types show.
//
// A value that is no JSON, or stands there twice, is marked as bad where it belongs, and costs the message that needs it;
// only where the structure around it is broken nothing more can be read.
#include <simdjson.h>

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feeds/decoding/mapping.h"
#include "adapters/feeds/decoding/message.h"

namespace brimwatch {

class ValueWalker {
 public:
  explicit ValueWalker(std::size_t slots) : values_(slots) {}

  // Each returns false when the JSON's structure turns out broken; fault() says how.
  bool walk(simdjson::ondemand::value value, const PointerTree& tree, const PointerNode& node);
  bool walk_element(simdjson::ondemand::value value, std::size_t index, const PointerTree& tree, const PointerNode& node);
  [[nodiscard]] const std::string& fault() const { return fault_; }

  /// From here on lists are columns: their entries go to cells() with their kinds, lists among them.
  void take_columns(bool columns) { columns_ = columns; }

  /// By slot. Views live as long as the parser's buffer.
  [[nodiscard]] std::vector<FieldValue>& values() { return values_; }
  /// Of the lists among them.
  [[nodiscard]] std::vector<std::string_view>& entries() { return entries_; }
  [[nodiscard]] std::vector<FieldValue>& cells() { return cells_; }

 private:
  bool walk_object(simdjson::ondemand::object object, const PointerTree& tree, const PointerNode& node);
  bool walk_array(simdjson::ondemand::array array, const PointerTree& tree, const PointerNode& node);
  bool walk_list(simdjson::ondemand::value value, const PointerTree& tree, const PointerNode& node);
  bool capture_list(simdjson::ondemand::array array, const PointerTree& tree, const PointerNode& node, FieldValue& into);
  bool capture_column(simdjson::ondemand::array array, FieldValue& into);
  void store(const PointerNode& node, const FieldValue& found);
  bool broken(std::string_view what) {
    fault_ = what;
    return false;
  }
  bool broken(simdjson::error_code error) { return broken(simdjson::error_message(error)); }

  std::vector<FieldValue> values_, cells_;
  std::vector<std::string_view> entries_;
  std::string fault_;
  bool columns_ = false;
};

/// What a value is, told from its first byte. `none`: the beginning of no JSON value.
enum class JsonShape : std::uint8_t { object, array, scalar, none };
[[nodiscard]] JsonShape shape_of(simdjson::ondemand::value& value);

/// What closes or parts values stands where one should be: the structure is broken, not a value.
[[nodiscard]] bool is_missing(simdjson::ondemand::value& value);

/// Without blanks behind it.
[[nodiscard]] std::string_view trimmed(std::string_view token);

}  // namespace brimwatch
