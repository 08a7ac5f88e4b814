#pragma once
// Puts a hole into the stream of ticks wherever something was sent that did not reach it: a gap in the source's own
// numbering, or a message that could not be read. Live feeds and replays of frames share it. Pure.
#include <cstdint>
#include <vector>

#include "adapters/feeds/decoding/decoder.h"
#include "adapters/feeds/sequence.h"

namespace brimwatch {

class HoleMarker {
 public:
  explicit HoleMarker(bool sequence_by_symbol) : numbers_(sequence_by_symbol) {}

  /// Ticks from number `first` on are new, and get a hole before them where one is due: from the last exchange time that
  /// was heard before the loss to the tick that shows it. Empties decoded.passed and decoded.lost. How many gaps the
  /// numbering had.
  std::uint64_t mark(Decoded& decoded, std::size_t first);

  /// Something came that never reached the decoder, of whatever symbol.
  void note_lost() { note_loss(kNoSymbol); }

  /// A new connection: the source's numbering may start anywhere.
  void restart_numbers() { numbers_.restart(); }

 private:
  struct Ear {
    Timestamp heard;       ///< latest exchange time
    Timestamp lost_since;  ///< set: something after it was lost
  };
  void hear(const Tick& tick);
  void note_loss(SymbolId symbol);
  void note_until(const Decoded& decoded, std::size_t tick, std::size_t& passed, std::size_t& lost);
  void put_hole(SymbolId symbol, Timestamp since, Timestamp until, Decoded& decoded) const;
  bool put_holes_before(const Tick& tick, std::uint64_t number, Decoded& decoded);
  Ear& ear_of(SymbolId symbol);

  SequenceGuard numbers_;
  Ear feed_;
  std::vector<Ear> symbols_;  ///< by id
  std::size_t losses_ = 0;    ///< that no tick has shown yet
};

}  // namespace brimwatch
