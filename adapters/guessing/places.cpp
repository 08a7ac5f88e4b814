#include "adapters/guessing/places.h"

#include <algorithm>
#include <map>
#include <set>

#include "adapters/guessing/names.h"
#include "adapters/guessing/shape_of_value.h"

namespace brimwatch {
namespace {

using Form = GuessedPlace::Form;

constexpr int kDeepest = 4;
constexpr std::size_t kLookedAt = 400, kRecordsMost = 8'000, kColumnsLeast = 3;

bool is_container(const OrderedJson& value) { return value.is_object() || value.is_array(); }

bool is_ticker(std::string_view text) {
  const auto upper = std::count_if(text.begin(), text.end(), [](char c) { return c >= 'A' && c <= 'Z'; });
  const bool lower = std::any_of(text.begin(), text.end(), [](char c) { return c >= 'a' && c <= 'z'; });
  return looks_like_symbol(text) && text.size() <= 16 && upper > 0 && !lower;
}

std::set<std::string> names_of(const OrderedJson& object) {
  std::set<std::string> out;
  for (const auto& [name, member] : object.items()) out.insert(name);
  return out;
}

/// Objects of the same kind: most of their names are the same.
bool alike(const OrderedJson& a, const OrderedJson& b) {
  const auto first = names_of(a), second = names_of(b);
  std::size_t common = 0;
  for (const auto& name : first) common += second.count(name);
  return 2 * common >= std::max(first.size(), second.size());
}

std::string text_of(const OrderedJson& value) { return value.is_string() ? value.get<std::string>() : value.dump(); }

/// 'n' for a number, be it in a text, 't' for another text, and so on.
char letter_of(const OrderedJson& value) {
  if (value.is_number()) return 'n';
  if (value.is_string()) return number_in(value.get_ref<const std::string&>()) ? 'n' : 't';
  return value.is_boolean() ? 'b' : value.is_null() ? '0' : 'c';
}

/// Values of one message by their places: at least two, a number among them.
bool is_row(const OrderedJson& value) {
  return value.is_array() && value.size() >= 2 &&
         std::all_of(value.begin(), value.end(), [](const OrderedJson& entry) { return entry.is_primitive(); }) &&
         std::any_of(value.begin(), value.end(), [](const OrderedJson& entry) { return letter_of(entry) == 'n'; });
}

bool are_alike_rows(const OrderedJson& a, const OrderedJson& b) {
  if (!is_row(a) || !is_row(b) || a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (letter_of(a[i]) != letter_of(b[i]) && !a[i].is_null() && !b[i].is_null()) return false;
  }
  return true;
}

bool is_any_time(const OrderedJson& value) {
  const std::string text = text_of(value);
  const auto number = number_in(text);
  return number ? *number > 9e8 : text.size() >= 17 && time_in(text, TimeFormat::rfc3339);
}

bool are_all_times(const OrderedJson& list) { return std::all_of(list.begin(), list.end(), is_any_time); }

/// What a member of an object with a message for each symbol can hold: a message, or a list of them. Null: neither.
const OrderedJson* message_in_member(const OrderedJson& member) {
  const bool list = member.is_array() && !member.empty() && is_container(member.front());
  const OrderedJson& message = list ? member.front() : member;
  return (message.is_object() && !message.empty()) || is_row(message) ? &message : nullptr;
}

/// A list named "PX" is a column, not the row of a symbol.
bool is_named_as_field(const std::string& name) {
  for (const Field field : {Field::symbol, Field::price, Field::size, Field::time, Field::bid, Field::ask}) {
    if (name_speaks_for(field, pointer_to("", name)) >= 0.9) return true;
  }
  return false;
}

bool has_members(const OrderedJson& object) {
  if (object.empty()) return false;
  const OrderedJson* first = nullptr;
  for (const auto& [name, member] : object.items()) {
    if (member.is_null()) continue;
    const OrderedJson* message = message_in_member(member);
    if (message == nullptr || !is_ticker(name)) return false;
    if (message->is_array() && (name.size() < 2 || is_named_as_field(name) || are_all_times(*message))) return false;
    if (first != nullptr &&
        (message->is_array() ? !are_alike_rows(*first, *message) : !first->is_object() || !alike(*first, *message)))
      return false;
    if (first == nullptr) first = message;
  }
  return first != nullptr && (object.size() > 1 || object.begin().key().size() > 1);
}

bool is_list_of_scalars(const OrderedJson& value) {
  return value.is_array() && !value.empty() &&
         std::all_of(value.begin(), value.end(), [](const OrderedJson& entry) { return !entry.is_object(); });
}

/// Lists side by side, told apart by their places: each holds values of one kind, where a row would hold several.
bool has_columns_by_place(const OrderedJson& array) {
  bool numbers = false, texts = false;
  for (const OrderedJson& list : array) {
    if (!list.is_array() || list.empty() || list.size() != array.front().size()) return false;
    const char kind = letter_of(list.front());
    if (kind != 'n' && kind != 't') return false;
    if (!std::all_of(list.begin(), list.end(), [&](const OrderedJson& entry) { return letter_of(entry) == kind; }))
      return false;
    (kind == 'n' ? numbers : texts) = true;
  }
  return array.size() >= kColumnsLeast && numbers && texts;
}

/// At least three lists of the same length, one of them with numbers.
bool has_columns(const OrderedJson& object) {
  if (object.is_array()) return has_columns_by_place(object);
  std::size_t lists = 0, length = 0;
  bool numbers = false;
  for (const auto& [name, member] : object.items()) {
    if (!member.is_array()) continue;
    if (!is_list_of_scalars(member) || (lists > 0 && member.size() != length)) return false;
    length = member.size();
    ++lists;
    for (const OrderedJson& entry : member)
      numbers = numbers || entry.is_number() || (entry.is_string() && number_in(entry.get<std::string>()));
  }
  return lists >= kColumnsLeast && numbers;
}

/// All places in the sample that could hold messages, with how often each was seen.
class Candidates {
 public:
  void look(const OrderedJson& value, const std::string& pointer, int depth) {
    if (depth > kDeepest) return;
    if (value.is_array()) return look_at_array(value, pointer, depth);
    if (value.is_object()) look_at_object(value, pointer, depth);
  }
  [[nodiscard]] const std::vector<GuessedPlace>& found() const { return found_; }

 private:
  void add(const std::string& pointer, Form form) {
    const GuessedPlace place{form, pointer};
    if (std::find(found_.begin(), found_.end(), place) == found_.end()) found_.push_back(place);
  }

  void look_at_array(const OrderedJson& value, const std::string& pointer, int depth) {
    if (value.empty()) return;
    if (has_columns(value)) return add(pointer, Form::columns);
    if (std::all_of(value.begin(), value.end(), is_container)) return add(pointer, Form::array);
    for (std::size_t i = 0; i < std::min<std::size_t>(value.size(), 8) && depth == 0; ++i)
      look(value[i], pointer + "/" + std::to_string(i), depth + 1);
  }

  void look_at_object(const OrderedJson& value, const std::string& pointer, int depth) {
    if (has_members(value)) return add(pointer, Form::members);
    if (has_columns(value)) add(pointer, Form::columns);
    for (const auto& [name, member] : value.items()) {
      if (is_container(member)) look(member, pointer_to(pointer, name), depth + 1);
    }
  }

  std::vector<GuessedPlace> found_;
};

const OrderedJson* value_at(const OrderedJson& frame, const std::string& pointer) {
  try {
    const OrderedJson::json_pointer place(pointer);
    return frame.contains(place) ? &frame.at(place) : nullptr;
  } catch (const Json::exception&) {
    return nullptr;
  }
}

/// The messages that stand at a place, one after the other.
template <typename Take>
void each_message(const OrderedJson& value, Form form, Take take) {
  const std::string none;
  switch (form) {
    case Form::single:
      return take(none, value);
    case Form::array:
      if (!value.is_array()) return take(none, value);
      for (const OrderedJson& entry : value) take(none, entry);
      return;
    case Form::members:
      if (!value.is_object()) return;
      for (const auto& [name, member] : value.items()) {
        if (member.is_null()) continue;
        const bool list = member.is_array() && !is_row(member);
        if (!list) take(name, member);
        for (const OrderedJson& one : list ? member : OrderedJson::array()) take(name, one);
      }
      return;
    case Form::columns:
      return;
  }
}

OrderedJson row_of(const OrderedJson& columns, std::size_t row) {
  if (columns.is_array()) {
    OrderedJson out = OrderedJson::array();
    for (const OrderedJson& list : columns) out.push_back(list[row]);
    return out;
  }
  OrderedJson out = OrderedJson::object();
  for (const auto& [name, member] : columns.items()) {
    if (!member.is_array()) out[name] = member;
    else if (row < member.size()) out[name] = member[row];
  }
  return out;
}

std::size_t rows_of(const OrderedJson& columns) {
  if (columns.is_array()) return columns.front().size();
  std::size_t rows = 0;
  for (const auto& [name, member] : columns.items()) {
    if (member.is_array()) rows = std::max(rows, member.size());
  }
  return rows;
}

bool is_list_of_names(const OrderedJson& value) {
  if (!value.is_array() || value.size() < 3) return false;
  std::size_t known = 0;
  for (const OrderedJson& entry : value) {
    if (!entry.is_string() || number_in(entry.get<std::string>())) return false;
    const std::string pointer = pointer_to("", entry.get<std::string>());
    double best = 0;
    for (const Field field : {Field::symbol, Field::price, Field::size, Field::time, Field::bid, Field::ask})
      best = std::max(best, name_speaks_for(field, pointer));
    known += best >= 0.9;
  }
  return known >= 3;
}

void add_names_in(const OrderedJson& value, const std::string& before, int depth, std::vector<PlaceNames>& out) {
  if (is_list_of_names(value)) return out.push_back({before, value.get<std::vector<std::string>>()});
  if (!value.is_object() || depth > kDeepest) return;
  for (const auto& [name, member] : value.items()) add_names_in(member, name, depth + 1, out);
}

/// A message worth the name has a symbol or a time, and a number.
bool is_like_market(const Record& record) {
  bool symbol = false, time = false, number = false;
  std::size_t leaves = 0;
  for (const auto& [pointer, leaf] : record.leaves) {
    if (leaf.kind == Leaf::Kind::list || leaf.kind == Leaf::Kind::nothing) continue;
    ++leaves;
    const auto value = leaf.kind == Leaf::Kind::truth ? std::nullopt : number_in(leaf.text);
    number = number || value.has_value();
    symbol = symbol || (leaf.kind == Leaf::Kind::text && looks_like_symbol(leaf.text));
    time = time || (value && *value > 9e8) || (leaf.text.size() >= 17 && time_in(leaf.text, TimeFormat::rfc3339));
  }
  return (symbol || time) && number && leaves >= 3;
}

void add_records_at(const OrderedJson& value, const GuessedPlace& place, const Record& base, std::vector<Record>& out) {
  if (place.form == Form::columns) {
    if (!is_container(value)) return;
    if (value.is_array() && !has_columns(value)) {
      Record record = base;
      add_leaves(value, "", record);
      out.push_back(std::move(record));
      return;
    }
    for (std::size_t i = 0; i < std::max<std::size_t>(rows_of(value), 1); ++i) {
      Record record = base;
      add_leaves(row_of(value, i), "", record);
      out.push_back(std::move(record));
    }
    return;
  }
  each_message(value, place.form, [&](const std::string& key, const OrderedJson& message) {
    Record record = base;
    if (!key.empty()) record.leaves.emplace_back("key", Leaf{Leaf::Kind::text, key, {}});
    add_leaves(message, "", record);
    out.push_back(std::move(record));
  });
}

bool holds_messages(const std::vector<ParsedFrame>& frames, const GuessedPlace& place) {
  std::vector<Record> records;
  for (const ParsedFrame& frame : frames) {
    const OrderedJson* value = value_at(frame.json, place.pointer);
    if (value == nullptr || records.size() > kLookedAt) continue;
    if (place.form == Form::columns && !has_columns(*value)) continue;
    Record base;
    if (place.form == Form::members) base.leaves.emplace_back("key", Leaf{Leaf::Kind::text, "KEY", {}});
    add_records_at(*value, place, base, records);
  }
  const auto market = std::count_if(records.begin(), records.end(), is_like_market);
  return !records.empty() && 2 * static_cast<std::size_t>(market) >= records.size();
}

/// A place inside another holds no messages of its own.
std::vector<GuessedPlace> without_inner(const std::vector<GuessedPlace>& places) {
  std::vector<GuessedPlace> out;
  for (const GuessedPlace& place : places) {
    const bool inner = std::any_of(places.begin(), places.end(), [&](const GuessedPlace& other) {
      return !(other == place) && place.pointer.size() > other.pointer.size() &&
             place.pointer.compare(0, other.pointer.size() + 1, other.pointer + "/") == 0;
    });
    const bool twice = std::any_of(out.begin(), out.end(), [&](const auto& o) { return o.pointer == place.pointer; });
    if (!inner && !twice) out.push_back(place);
  }
  return out;
}

std::vector<GuessedPlace> good_places(const std::vector<ParsedFrame>& frames) {
  Candidates candidates;
  for (std::size_t i = 0; i < std::min(frames.size(), kLookedAt); ++i) candidates.look(frames[i].json, "", 0);
  std::vector<GuessedPlace> good;
  for (const GuessedPlace& place : candidates.found()) {
    if (holds_messages(frames, place)) good.push_back(place);
  }
  return without_inner(good);
}

void add_event(const ParsedFrame& frame, Record& record) {
  if (!frame.event.empty()) record.leaves.emplace_back("event", Leaf{Leaf::Kind::text, frame.event, {}});
}

/// What stands in the frame around the messages, by pointers that say so.
void add_around(const ParsedFrame& frame, const std::vector<GuessedPlace>& places, Record& record) {
  Record around;
  add_leaves(frame.json, "", around);
  for (auto& [pointer, leaf] : around.leaves) {
    const bool inside = std::any_of(places.begin(), places.end(), [&, &where = pointer](const GuessedPlace& place) {
      return !place.pointer.empty() && (where + "/").starts_with(place.pointer + "/");
    });
    if (!inside && leaf.kind != Leaf::Kind::list) record.leaves.emplace_back("frame:" + pointer, std::move(leaf));
  }
}

class Taker {
 public:
  Taker(const std::vector<ParsedFrame>& frames, std::vector<GuessedPlace> inner)
      : frames_(frames), inner_(std::move(inner)) {}

  FoundPlaces take(bool frames_too) {
    FoundPlaces out;
    const bool root_is_place = frames_too && root_holds_messages();
    if (root_is_place || inner_.empty()) out.places.push_back({});
    out.places.insert(out.places.end(), inner_.begin(), inner_.end());
    for (std::size_t i = 0; i < frames_.size() && out.records.size() < kRecordsMost; ++i) take_frame(i, out);
    return out;
  }

 private:
  [[nodiscard]] bool has_inner(const ParsedFrame& frame) const {
    return std::any_of(inner_.begin(), inner_.end(), [&](const GuessedPlace& place) {
      const OrderedJson* value = value_at(frame.json, place.pointer);
      return value != nullptr && is_container(*value);
    });
  }

  [[nodiscard]] bool root_holds_messages() const {
    for (const ParsedFrame& frame : frames_) {
      if (has_inner(frame)) continue;
      Record record;
      add_leaves(frame.json, "", record);
      if (is_like_market(record) && record.leaves.size() >= 4) return true;
    }
    return false;
  }

  void take_frame(std::size_t number, FoundPlaces& out) const {
    const ParsedFrame& frame = frames_[number];
    bool any = false;
    for (std::size_t i = 0; i < out.places.size(); ++i) {
      const GuessedPlace& place = out.places[i];
      if (place == GuessedPlace{}) continue;
      const OrderedJson* value = value_at(frame.json, place.pointer);
      if (value == nullptr || !is_container(*value)) continue;
      any = true;
      Record base{number, i, {}};
      add_event(frame, base);
      if (!place.pointer.empty()) add_around(frame, inner_, base);
      add_records_at(*value, place, base, out.records);
    }
    if (!any) take_whole(number, out);
  }

  /// A frame without any place: where the frame itself is none, only what the frame says can tell what it is.
  void take_whole(std::size_t number, FoundPlaces& out) const {
    const ParsedFrame& frame = frames_[number];
    Record record{number, 0, {}};
    add_event(frame, record);
    const bool itself = out.places.front() == GuessedPlace{};
    if (itself) add_leaves(frame.json, "", record);
    else add_around(frame, inner_, record);
    out.records.push_back(std::move(record));
  }

  const std::vector<ParsedFrame>& frames_;
  std::vector<GuessedPlace> inner_;
};

}  // namespace

std::vector<Record> messages_at(const ParsedFrame& frame, const GuessedPlace& place) {
  std::vector<Record> out;
  Record base;
  add_event(frame, base);
  add_around(frame, {place}, base);
  const OrderedJson* value = value_at(frame.json, place.pointer);
  if (value == nullptr) return out;
  const bool list = value->is_array() && std::all_of(value->begin(), value->end(), is_container);
  add_records_at(*value, place.form == Form::array && !list ? GuessedPlace{Form::single, place.pointer} : place, base,
                 out);
  return out;
}

std::vector<PlaceNames> names_of_places(const std::vector<ParsedFrame>& frames) {
  std::vector<PlaceNames> out;
  for (std::size_t i = 0; i < std::min(frames.size(), kLookedAt) && out.empty(); ++i)
    add_names_in(frames[i].json, {}, 0, out);
  return out;
}

FoundPlaces find_places(const std::vector<ParsedFrame>& frames, bool frames_too) {
  return Taker(frames, good_places(frames)).take(frames_too);
}

}  // namespace brimwatch
