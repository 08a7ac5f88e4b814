#pragma once
// The values of the shared log: JSON, each with the version of its form. Who meets a newer version than its own cannot
// read it and says so: it must never lead.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "core/answer.h"
#include "core/delivery.h"
#include "core/notice.h"
#include "core/result.h"
#include "core/state.h"

namespace brimwatch {

/// The newest form that this program reads and writes. A change of what a notice or a delivery keeps is a new one.
constexpr int kSharedFormat = 1;

/// Who wrote it, and how.
struct SharedMark {
  std::string by;          ///< the member's name
  std::int64_t token = 0;  ///< of its leadership then; 0: it was alone
  bool operator==(const SharedMark&) const = default;
};

struct SharedNotice {
  NoticeRecord record;
  SharedMark mark;
  /// Of one that is uploaded, where it was told alone and another leads now: how its watch stands after it. Who does not
  /// know of it passes it over.
  std::optional<WatchState> watch{};
};
struct SharedDelivery {
  DeliveryRow row;
  SharedMark mark;
};
struct SharedAcknowledgement {
  std::string notice_id, by;
  Timestamp at;
};

/// What a person has said, at whichever member.
struct SharedAnswer {
  Answer answer;
  std::string by;  ///< the member's name
};

/// What the log says of who speaks, or who has just ceased to.
struct SharedSpeaker {
  std::string name;
  Timestamp since;  ///< by that machine's clock, to be shown only
  std::string how;  ///< of one that ceased: "handed over", "ended"; else empty
  /// Of one that ceased because it was not well: for so long it had heard nothing. An older program does not know of it.
  Nanos unheard = 0;
  bool operator==(const SharedSpeaker&) const = default;
};

struct SharedMember {
  std::string name, version;
  int reads = kSharedFormat;  ///< the newest form it reads
  std::string feed = "own";   ///< while it stands by: own | at-takeover
  std::string list{};         ///< a hash of its watches
  std::string rules{};        ///< a hash of what decides its notices; empty: an older program, which says nothing of it
  std::uint64_t watches = 0;
  bool well = true;
  std::string trouble{};  ///< one line; empty: none
  std::string direct{};   ///< where it answers directly (direct.h), https://IP:port; empty: nowhere
  Timestamp clock{};      ///< what its clock showed when it wrote this
  bool operator==(const SharedMember&) const = default;
};

// `format`: the oldest that all members read.
[[nodiscard]] std::string to_value(const SharedNotice& notice, int format = kSharedFormat);
[[nodiscard]] std::string to_value(const SharedDelivery& delivery);
[[nodiscard]] std::string to_value(const SharedAcknowledgement& one);
[[nodiscard]] std::string to_value(const SharedAnswer& one);
[[nodiscard]] std::string to_value(const SharedSpeaker& speaker);
[[nodiscard]] std::string to_value(const SharedMember& member);
[[nodiscard]] std::string to_value(const WatchState& state);
[[nodiscard]] std::string to_value(const SymbolState& state);

/// An error says what was found and what is read, and names no more of the value than that. `reads`: the newest form that
/// whoever asks reads.
[[nodiscard]] Result<SharedNotice> notice_from(std::string_view value, int reads);
[[nodiscard]] Result<SharedDelivery> delivery_from(std::string_view value, int reads);
[[nodiscard]] Result<SharedAcknowledgement> acknowledgement_from(std::string_view value, int reads);
[[nodiscard]] Result<SharedAnswer> shared_answer_from(std::string_view value, int reads);
[[nodiscard]] Result<SharedSpeaker> speaker_from(std::string_view value, int reads);
[[nodiscard]] Result<SharedMember> member_from(std::string_view value, int reads);
[[nodiscard]] Result<WatchState> watch_from(std::string_view value, int reads);
[[nodiscard]] Result<SymbolState> symbol_from(std::string_view value, int reads);

}  // namespace brimwatch
