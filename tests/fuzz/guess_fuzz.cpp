// Any bytes as messages of an unknown source: a proposal or one line that says why not; what is proposed is a mapping
// that compiles, it counts each message once.
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "adapters/guessing/proposal.h"
#include "adapters/guessing/written.h"
#include "core/text/json.h"

namespace {

void require(bool good) {
  if (!good) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace brimwatch;
  constexpr std::size_t kEnough = 4096;  // guessing looks at each value many times
  const std::string_view text(reinterpret_cast<const char*>(data), std::min(size, kEnough));
  const auto proposal = propose(cut_sample(text));
  if (!proposal) {
    require(!proposal.error().text.empty() && proposal.error().text.find('\n') == std::string::npos);
    return 0;
  }
  require(OrderedJson::accept(proposal_as_json(*proposal)));
  if (!proposal->usable) return 0;
  require(mapping_problems(proposal->settings).empty());
  const Trial& trial = proposal->trial;
  require(trial.messages == trial.ticks + trial.ignored + trial.unknown + trial.malformed);
  require(!feed_as_toml(*proposal).empty() && !proposal_as_text(*proposal).empty());
  return 0;
}
