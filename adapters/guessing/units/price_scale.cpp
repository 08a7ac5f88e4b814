#include "adapters/guessing/scale.h"
#include "adapters/guessing/units/parts.h"

namespace brimwatch {

void find_price_scale(UnitFindings& into) {
  const ScaleGuess scale = guess_scale(into.records(), into.sorts());
  into.settings().price_decimals = scale.decimals;
  if (scale.decimals > 0) into.note("price_decimals", std::to_string(scale.decimals), scale.sure, scale.why);
  if (!scale.question.empty()) into.ask(scale.question);
}

}  // namespace brimwatch
