#pragma once
// The field map of a feed, compiled once: a tree of pointer tokens whose leaves name the slots that a value goes to, the
// rules that tell message types apart, and the source's words for ours. Immutable after it is made.
#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feeds/decimal.h"
#include "config/settings.h"
#include "core/result.h"
#include "core/tick.h"

namespace brimwatch {

enum class Field : std::uint8_t {
  symbol,
  price,
  size,
  time,
  conditions,
  exchange,
  id,
  kind,
  day_volume,
  bid,
  ask,
  bid_size,
  ask_size,
  status,
  sequence,
  low,
  high,
  old_price,
  old_size,
};
constexpr std::size_t kFields = 19;

/// What a message is. The first seven follow TickKind.
enum class MessageKind : std::uint8_t {
  trade,
  quote,
  cancel,
  correct,
  status,
  bar,
  day,
  ignore,
  accepted,
  refused,
  unknown
};

/// "trade" ... "refused"; empty for other words.
[[nodiscard]] std::optional<MessageKind> message_kind_of(std::string_view word);

using Slot = std::int16_t;
constexpr Slot kNoSlot = -1;

/// One token of the pointers. `slots` are those whose pointer ends here.
struct PointerNode {
  std::string token;
  std::optional<std::size_t> index;  ///< the token as an array index
  std::vector<std::uint16_t> children;
  std::vector<Slot> slots;
};

struct PointerTree {
  std::vector<PointerNode> nodes{1};  ///< the first is the root

  void add(const std::vector<std::string>& tokens, Slot slot);
  [[nodiscard]] const PointerNode* child(const PointerNode& node, std::string_view token) const;
  [[nodiscard]] const PointerNode* child_at(const PointerNode& node, std::size_t index) const;
  [[nodiscard]] bool empty() const { return nodes.size() == 1 && nodes[0].slots.empty(); }
};

struct CompiledRule {
  Slot slot = kNoSlot;
  std::string equals;  ///< "*" matches any value but null
  MessageKind kind = MessageKind::unknown;
};

struct Mapping {
  PointerTree message, frame;         ///< pointers into one message, and into the frame around the messages
  std::vector<std::string> messages;  ///< where the messages are inside a frame
  std::array<std::array<Slot, kFields>, 7> slots{};  ///< by kind, then field
  Slot kind_slot = kNoSlot;
  std::size_t slot_count = 0;
  bool symbol_is_key = false;
  std::vector<CompiledRule> rules;
  MessageKind default_kind = MessageKind::trade;
  TimeFormat time_format = TimeFormat::rfc3339;
  std::string symbol_prefix, symbol_suffix;
  std::map<std::string, MessageKind, std::less<>> kind_words;
  std::map<std::string, TradingStatus, std::less<>> status_words;
  std::map<std::string, std::string, std::less<>> condition_words;
  std::map<std::string, char, std::less<>> exchange_words;
};

/// All that is wrong with the map, each "key: found ..., expected ..."; empty: it can be compiled.
[[nodiscard]] std::vector<std::string> mapping_problems(const FeedSettings& settings);

/// An error names the key and says what is allowed.
[[nodiscard]] Result<Mapping> compile_mapping(const FeedSettings& settings);

}  // namespace brimwatch
