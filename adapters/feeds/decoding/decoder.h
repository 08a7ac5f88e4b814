#pragma once
// Bytes of one frame -> ticks. Pure and total: any bytes give an answer, the same bytes the same one; no I/O, no clock.
// Live feeds, replays of recorded frames and the fuzzer share it.
//
// A frame is unpacked where it is packed, read as JSON or MessagePack, and taken apart into messages (frame_walker.h).
// Where its structure is broken, no tick of it counts. A value that cannot be read (NaN, a name that stands there twice)
// costs the message that needs it. What is lost that way is named in Decoded::lost, so that it becomes a hole.
// Names that the mapping does not ask for are only checked for structure.
//
// Not thread-safe: one decoder for one feed. Views and vectors handed out live until the next decode().
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "adapters/feeds/decoding/excerpt.h"
#include "adapters/feeds/decoding/unknown_codes.h"
#include "config/settings.h"
#include "core/result.h"
#include "core/symbols.h"
#include "core/tick.h"

namespace brimwatch {

/// The source said yes or no to what we sent.
struct SourceVerdict {
  bool accepted = false;
  std::string text;  ///< what it said, or the whole message; cut to 200 characters
};

/// The source wants a reply.
struct WantedReply {
  std::size_t which = 0;  ///< of FeedSettings::replies
  std::string value;      ///< the value there, as JSON
};

struct Decoded {
  std::vector<Tick> ticks;
  std::vector<std::uint64_t> sequences;  ///< one a tick, 0 where it has none; empty when the mapping asks for none
  std::vector<SourceVerdict> answers;
  std::vector<WantedReply> replies;
  /// Numbers of messages that gave no tick (ignored, not watched), so that they are not missed; `before`: a tick's place.
  struct Passed {
    std::size_t before;
    std::uint64_t sequence;
  };
  std::vector<Passed> passed;
  /// Something sent that could not be read; `symbol` kNoSymbol: its symbol is unknown.
  struct Lost {
    std::size_t before;
    SymbolId symbol;
  };
  std::vector<Lost> lost;

  void clear();
};

/// Since the decoder was made. Each message is counted in exactly one of ticks, malformed, unknown, ignored, unwatched.
struct DecodeCounts {
  std::uint64_t frames = 0;
  std::uint64_t frames_broken = 0;  ///< of broken structure, or too long
  std::uint64_t messages = 0;
  std::uint64_t ticks = 0;
  std::uint64_t malformed = 0;  ///< a value that cannot be read
  std::uint64_t unknown = 0;    ///< of no kind that the rules know
  std::uint64_t ignored = 0;    ///< by a rule, answers and namings among them
  std::uint64_t unwatched = 0;  ///< of a symbol that nobody asked for
};

class Decoder {
 public:
  /// An error names the key of the configuration that is wrong. `symbols` must outlive the decoder.
  [[nodiscard]] static Result<Decoder> make(const FeedSettings& settings, SymbolTable& symbols);
  ~Decoder();
  Decoder(Decoder&&) noexcept;
  Decoder& operator=(Decoder&&) noexcept;

  /// Only these from now on, interned. Before the first call every symbol is taken and interned.
  void want(const std::vector<std::string>& symbols);

  /// Appends to `out`. A blank frame is nothing.
  void decode(std::string_view frame, Timestamp received, Decoded& out);

  [[nodiscard]] const DecodeCounts& counts() const;
  [[nodiscard]] const UnknownCodes& unknown_codes() const;

  /// What was wrong with the last broken frame or malformed message, one line; empty when there was none yet.
  [[nodiscard]] const std::string& last_problem() const;

 private:
  struct Body;
  explicit Decoder(std::unique_ptr<Body> body);
  std::unique_ptr<Body> body_;
};

}  // namespace brimwatch
