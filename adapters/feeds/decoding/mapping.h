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

#include "adapters/feeds/decoding/decimal.h"
#include "adapters/feeds/decoding/pointer_tree.h"
#include "adapters/feeds/decoding/zoned_time.h"
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
  odd_lot,
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
  number,
};
constexpr std::size_t kFields = 21;

/// What a message is. The first seven follow TickKind.
enum class MessageKind : std::uint8_t {
  trade,
  quote,
  cancel,
  correct,
  status,
  bar,
  day,
  naming,  ///< says which symbol a number stands for
  ignore,
  accepted,
  refused,
  unknown
};
constexpr std::size_t kKindsWithFields = 8;  ///< trade to naming

/// "trade" ... "refused"; empty for other words.
[[nodiscard]] std::optional<MessageKind> message_kind_of(std::string_view word);

constexpr Slot kNoSlot = -1;
constexpr Slot kKeySlot = 0;    ///< the member's name, where messages are members of an object
constexpr Slot kEventSlot = 1;  ///< the name of a server-sent event
constexpr Slot kFirstPointerSlot = 2;

struct CompiledRule {
  Slot slot = kNoSlot;
  std::string equals;  ///< "*" matches any value but null; "trade.*" and "*@trade" what begins or ends so
  MessageKind kind = MessageKind::unknown;
  std::optional<std::size_t> reply;  ///< which of the configured replies the message wants
};

/// Where messages stand inside a frame.
struct MessagePlace {
  std::vector<std::string> tokens;
  MessageKind usual = MessageKind::trade;  ///< what they are where no rule and no word tells
  bool members = false;                    ///< an object with one message a member
  bool columns = false;                    ///< each field a list: the first of each make the first message, and so on
};

enum class Encoding : std::uint8_t { json, msgpack, csv, tags };
enum class Packing : std::uint8_t { none, gzip, deflate, zstd };

using SourceWords = std::map<std::string, std::string, std::less<>>;

struct Mapping {
  PointerTree message, frame;        ///< pointers into one message, and into the frame around the messages
  std::vector<MessagePlace> places;  ///< the first is that of fields.messages
  PointerTree inner_places;          ///< of those that are not the frame itself; slots are their numbers
  std::array<std::array<Slot, kFields>, kKindsWithFields> slots{};  ///< by kind, then field
  std::array<TimeFormat, kKindsWithFields> time_formats{};
  Slot kind_slot = kNoSlot;
  std::size_t slot_count = kFirstPointerSlot;
  std::vector<CompiledRule> rules;
  std::string symbol_prefix, symbol_suffix;
  SourceWords symbol_words;  ///< the source's names and numbers -> our symbols
  std::map<std::string, MessageKind, std::less<>> kind_words;
  std::map<std::string, TradingStatus, std::less<>> status_words;
  SourceWords condition_words;
  std::map<std::string, char, std::less<>> exchange_words;
  std::string tape_codes;       ///< all there are, where the source uses the tapes'; empty: it has its own
  std::vector<ZoneShift> zone;  ///< of times that name none; empty: each has to
  int price_decimals = 0;
  std::int64_t lot_size = 1, volume_lot_size = 1, odd_lot_below = 0;  ///< whole shares
  Encoding encoding = Encoding::json;
  Packing packing = Packing::none;
  bool events = false;  ///< a frame is a server-sent event with the message as its data

  [[nodiscard]] Slot slot(MessageKind kind, Field field) const {
    return slots[static_cast<std::size_t>(kind)][static_cast<std::size_t>(field)];
  }
};

/// By its name in [feed.fields].
[[nodiscard]] std::optional<Field> field_named(std::string_view name);

/// All that is wrong with the map, each "key: found ..., expected ..."; empty: it can be compiled.
[[nodiscard]] std::vector<std::string> mapping_problems(const FeedSettings& settings);

/// An error names the key and says what is allowed.
[[nodiscard]] Result<Mapping> compile_mapping(const FeedSettings& settings);

}  // namespace brimwatch
