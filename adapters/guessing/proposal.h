#pragma once
// Messages of an unknown source in, a [[feed]] out: each guess with its evidence and how sure it is, what cannot be told
// by name, and what the project's own decoder makes of the sample with it. Pure: no I/O, no clock.
#include <string>
#include <vector>

#include "adapters/guessing/kinds.h"
#include "adapters/guessing/sample.h"
#include "config/settings.h"

namespace brimwatch {

/// One key of the mapping beside the fields.
struct KeyGuess {
  std::string key, value;
  Sure sure = Sure::likely;
  std::string why;
};

/// What the decoder made of the sample with the proposed mapping.
struct Trial {
  std::size_t messages = 0;   ///< that it took out of the frames
  std::size_t ticks = 0;      ///< of them, prices and the like
  std::size_t ignored = 0;    ///< by a rule: answers, signs of life, what is not needed
  std::size_t unknown = 0;    ///< of no kind that the mapping knows
  std::size_t malformed = 0;  ///< lacking something, or not readable
  std::size_t broken = 0;     ///< frames that are none
  std::size_t otherwise = 0;  ///< that came to another kind of tick, price or size than was guessed
  std::vector<std::string> unknown_conditions;
  std::string problem;                      ///< of the last that could not be read
  [[nodiscard]] double understood() const;  ///< share of the messages that were used, or passed over by a rule
};

struct Proposal {
  FeedSettings settings;
  std::vector<SortGuess> sorts;
  std::vector<KeyGuess> keys;
  std::vector<std::string> asked;     ///< what cannot be told, by the name of its key: "fields.time: ..."
  std::vector<std::string> examples;  ///< of each sort, the first message as the source wrote it
  Trial trial;
  bool usable = false;  ///< there is a symbol and a price
};

/// An error says why the sample cannot be read at all.
[[nodiscard]] Result<Proposal> propose(const Sample& sample);

/// Runs the decoder over the sample.
[[nodiscard]] Trial try_mapping(const FeedSettings& settings, const Sample& sample);

}  // namespace brimwatch
