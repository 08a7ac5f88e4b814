#include "adapters/feeds/decoding/frame_walker.h"

#include <simdjson.h>

#include <algorithm>
#include <cstring>
#include <vector>

#include "adapters/feeds/decoding/pointer.h"
#include "adapters/feeds/decoding/value_walker.h"

namespace brimwatch {
namespace {

namespace json = simdjson::ondemand;
using Kind = FieldValue::Kind;

}  // namespace

struct FrameWalker::Body {
  explicit Body(const Mapping& compiled) : mapping(compiled), walker(mapping.slot_count) {
    frame_values.resize(mapping.slot_count);
    frame_texts.resize(mapping.slot_count);
    found.resize(mapping.places.size());
  }

  // Each of these returns false when the frame's structure turns out broken; `fault` says how.
  bool walk(std::string_view text);
  bool open(std::string_view text);
  bool root_of(json::value& root);
  bool take_whole(json::value root);
  bool read_frame_values();
  bool look_inside(json::value value, const PointerNode& node);
  bool look_inside_object(json::value value, const PointerNode& node);
  bool look_inside_array(json::value value, const PointerNode& node);
  bool take_place(json::value value, std::size_t number);
  bool take_messages(json::value value, const MessagePlace& place);
  bool take_array(json::value value, const MessagePlace& place, std::string_view key = {});
  bool take_members(json::value value, const MessagePlace& place);
  bool take_message(json::value value, const MessagePlace& place, std::string_view key = {});
  bool take_columns(json::value value, const MessagePlace& place);

  [[nodiscard]] bool is_frame_itself(const MessagePlace& place) const { return place.tokens.empty(); }
  [[nodiscard]] bool found_any() const { return std::find(found.begin(), found.end(), true) != found.end(); }
  void begin_message(std::string_view key);
  void end_message(const MessagePlace& place);
  void give_rows(const MessagePlace& place);
  std::size_t row_count(std::size_t& longest);
  bool broken(std::string_view what) { return fault = what, false; }
  bool broken(simdjson::error_code error) { return broken(simdjson::error_message(error)); }

  const Mapping& mapping;
  json::parser parser;
  std::vector<char> buffer;  ///< the frame, with the room behind it that the parser wants
  json::document document;
  ValueWalker walker;
  std::vector<FieldValue> frame_values, row;
  std::vector<std::string> frame_texts;  ///< what frame_values point to
  std::vector<bool> found;               ///< by place, in the frame in hand
  std::string_view event;
  MessageSink* sink = nullptr;
  std::string fault;
};

bool FrameWalker::Body::open(std::string_view text) {
  if (buffer.size() < text.size() + simdjson::SIMDJSON_PADDING) buffer.resize(text.size() + simdjson::SIMDJSON_PADDING);
  std::memcpy(buffer.data(), text.data(), text.size());
  if (const auto error = parser.iterate(buffer.data(), text.size(), buffer.size()).get(document)) return broken(error);
  bool scalar = false;
  if (const auto error = document.is_scalar().get(scalar)) return broken(error);
  return !scalar || broken("a single value, expected an object or an array");
}

bool FrameWalker::Body::root_of(json::value& root) {
  const auto error = document.get_value().get(root);
  return !error || broken(error);
}

bool FrameWalker::Body::walk(std::string_view text) {
  std::fill(found.begin(), found.end(), false);
  std::fill(frame_values.begin(), frame_values.end(), FieldValue{});
  if (!open(text)) return false;
  if (!mapping.frame.empty() && !read_frame_values()) return false;
  json::value root;
  if (!root_of(root)) return false;
  const bool only_itself = mapping.inner_places.empty();
  if (!only_itself && !look_inside(root, mapping.inner_places.root())) return false;
  if (is_frame_itself(mapping.places.front()) && !found_any()) {
    if (!only_itself) document.rewind();
    if (!only_itself && !root_of(root)) return false;
    if (!take_place(root, 0)) return false;
  }
  if (document.current_location().error() != simdjson::OUT_OF_BOUNDS) return broken("more behind the end of the message");
  if (!found_any()) {  // a sign of life or an answer: only what is in the frame itself can tell
    begin_message({});
    end_message(mapping.places.front());
  }
  return true;
}

/// Values that stand beside the messages are read in a pass of their own: they may come after them.
bool FrameWalker::Body::read_frame_values() {
  auto& values = walker.values();
  values.assign(mapping.slot_count, FieldValue{});
  walker.take_columns(false);
  json::value root;
  if (!root_of(root)) return false;
  if (!walker.walk(root, mapping.frame, mapping.frame.root())) return broken(walker.fault());
  for (std::size_t i = 0; i < values.size(); ++i) {
    frame_texts[i].assign(values[i].text);
    frame_values[i] = {values[i].kind == Kind::list ? Kind::nothing : values[i].kind, frame_texts[i]};
  }
  document.rewind();
  return true;
}

bool FrameWalker::Body::look_inside(json::value value, const PointerNode& node) {
  if (!node.slots.empty()) return take_place(value, static_cast<std::size_t>(node.slots.front()));
  if (node.children.empty()) return true;
  switch (shape_of(value)) {
    case JsonShape::object:
      return look_inside_object(value, node);
    case JsonShape::array:
      return look_inside_array(value, node);
    case JsonShape::scalar:
    case JsonShape::none:
      return true;
  }
  return true;
}

bool FrameWalker::Body::look_inside_object(json::value value, const PointerNode& node) {
  json::object object;
  if (const auto error = value.get_object().get(object)) return broken(error);
  for (auto result : object) {
    json::field field;
    std::string_view name;
    if (const auto error = std::move(result).get(field)) return broken(error);
    if (const auto error = field.unescaped_key().get(name)) return broken(error);
    const PointerNode* child = mapping.inner_places.child(node, name);
    if (child != nullptr && !look_inside(field.value(), *child)) return false;
  }
  return true;
}

bool FrameWalker::Body::look_inside_array(json::value value, const PointerNode& node) {
  json::array array;
  if (const auto error = value.get_array().get(array)) return broken(error);
  std::size_t index = 0;
  for (auto result : array) {
    json::value element;
    if (const auto error = std::move(result).get(element)) return broken(error);
    const PointerNode* child = mapping.inner_places.child_at(node, index++);
    if (child != nullptr && !look_inside(element, *child)) return false;
  }
  return true;
}

bool FrameWalker::Body::take_place(json::value value, std::size_t number) {
  if (found[number]) return broken("the messages' name twice in one frame");
  const JsonShape shape = shape_of(value);
  if (shape == JsonShape::scalar || shape == JsonShape::none) return true;  // null where messages would be: none
  found[number] = true;
  const MessagePlace& place = mapping.places[number];
  return place.columns ? take_columns(value, place) : take_messages(value, place);
}

bool FrameWalker::Body::take_messages(json::value value, const MessagePlace& place) {
  if (shape_of(value) == JsonShape::array) return take_array(value, place);
  return place.members ? take_members(value, place) : take_message(value, place);
}

/// An array of messages, or one message whose fields are told apart by position: its first element is no container then.
bool FrameWalker::Body::take_array(json::value value, const MessagePlace& place, std::string_view key) {
  json::array array;
  if (const auto error = value.get_array().get(array)) return broken(error);
  const auto& tree = mapping.message;
  std::size_t index = 0;
  bool positional = false;
  for (auto result : array) {
    json::value element;
    if (const auto error = std::move(result).get(element)) return broken(error);
    const JsonShape shape = shape_of(element);
    if (index == 0 && shape != JsonShape::object && shape != JsonShape::array) {
      positional = true;
      begin_message(key);
    }
    if (!positional && !take_message(element, place, key)) return false;
    if (positional && !walker.walk_element(element, index, tree, tree.root())) return broken(walker.fault());
    ++index;
  }
  if (positional) end_message(place);
  return true;
}

/// A member is a message, or a list of them, that bears its name.
bool FrameWalker::Body::take_members(json::value value, const MessagePlace& place) {
  json::object object;
  if (const auto error = value.get_object().get(object)) return broken(error);
  for (auto result : object) {
    json::field field;
    std::string_view name;
    if (const auto error = std::move(result).get(field)) return broken(error);
    if (const auto error = field.unescaped_key().get(name)) return broken(error);
    json::value member = field.value();
    const bool list = shape_of(member) == JsonShape::array;
    if (!(list ? take_array(member, place, name) : take_message(member, place, name))) return false;
  }
  return true;
}

bool FrameWalker::Body::take_message(json::value value, const MessagePlace& place, std::string_view key) {
  begin_message(key);
  if (!walker.walk(value, mapping.message, mapping.message.root())) return broken(walker.fault());
  end_message(place);
  return true;
}

/// One table of columns, or an array of such tables. Columns told apart by position are an array themselves.
bool FrameWalker::Body::take_columns(json::value value, const MessagePlace& place) {
  const auto take_one = [&](json::value table) {
    begin_message({});
    walker.cells().clear();
    walker.take_columns(true);
    const bool good = walker.walk(table, mapping.message, mapping.message.root());
    walker.take_columns(false);
    if (!good) return broken(walker.fault());
    give_rows(place);
    return true;
  };
  if (shape_of(value) == JsonShape::object || mapping.message.is_by_position()) return take_one(value);
  json::array array;
  if (const auto error = value.get_array().get(array)) return broken(error);
  for (auto result : array) {
    json::value element;
    if (const auto error = std::move(result).get(element)) return broken(error);
    if (!take_one(element)) return false;
  }
  return true;
}

/// Of the columns; `longest` where their lengths differ.
std::size_t FrameWalker::Body::row_count(std::size_t& longest) {
  std::size_t least = SIZE_MAX;
  longest = 0;
  for (const FieldValue& value : walker.values()) {
    if (value.kind != Kind::list) continue;
    least = std::min<std::size_t>(least, value.count);
    longest = std::max<std::size_t>(longest, value.count);
  }
  return least == SIZE_MAX ? 0 : least;
}

void FrameWalker::Body::give_rows(const MessagePlace& place) {
  std::size_t longest = 0;
  const std::size_t rows = row_count(longest);
  if (rows != longest) {
    return sink->on_unreadable("columns of " + std::to_string(rows) + " and of " + std::to_string(longest) + " values");
  }
  const auto& values = walker.values();
  if (longest == 0) {  // no columns at all: what stands beside them may tell what it is
    const bool empty = std::any_of(values.begin(), values.end(), [](const auto& v) { return v.kind == Kind::list; });
    return empty ? void() : end_message(place);
  }
  for (std::size_t i = 0; i < rows; ++i) {
    row.assign(values.begin(), values.end());  // what is no column is common to all rows
    for (FieldValue& value : row) {
      if (value.kind == Kind::list) value = walker.cells()[value.first + i];
    }
    sink->on_message({row, walker.entries()}, place.usual);
  }
}

void FrameWalker::Body::begin_message(std::string_view key) {
  walker.entries().clear();
  auto& values = walker.values();
  std::copy(frame_values.begin(), frame_values.end(), values.begin());
  if (!key.empty()) values[kKeySlot] = {Kind::text, key};
  if (!event.empty()) values[kEventSlot] = {Kind::text, event};
}

void FrameWalker::Body::end_message(const MessagePlace& place) {
  sink->on_message({walker.values(), walker.entries()}, place.usual);
}

FrameWalker::FrameWalker(const Mapping& mapping) : body_(std::make_unique<Body>(mapping)) {}
FrameWalker::~FrameWalker() = default;

bool FrameWalker::walk(std::string_view text, std::string_view event, MessageSink& sink) {
  body_->event = event;
  body_->sink = &sink;
  return body_->walk(text);
}

const std::string& FrameWalker::fault() const { return body_->fault; }

}  // namespace brimwatch
