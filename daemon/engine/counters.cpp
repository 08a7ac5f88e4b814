#include <algorithm>
#include <array>

#include "engine/engine.h"

namespace brimwatch {
namespace {

struct Named {
  std::string_view name;
  std::uint64_t EngineCounters::*field;
};
using C = EngineCounters;
constexpr std::array kNamed{Named{"ticks", &C::ticks},
                            Named{"trades", &C::trades},
                            Named{"eligible", &C::eligible},
                            Named{"volume_only", &C::volume_only},
                            Named{"ignored", &C::ignored},
                            Named{"held_as_bad", &C::held_as_bad},
                            Named{"confirmed", &C::confirmed},
                            Named{"out_of_order", &C::out_of_order},
                            Named{"duplicates", &C::duplicates},
                            Named{"unknown_conditions", &C::unknown_conditions},
                            Named{"absurd", &C::absurd},
                            Named{"corrections", &C::corrections},
                            Named{"unmatched_corrections", &C::unmatched_corrections},
                            Named{"notices", &C::notices},
                            Named{"not_told", &C::not_told},
                            Named{"held_back", &C::held_back},
                            Named{"ids_forgotten", &C::ids_forgotten}};
static_assert(sizeof(C) == kNamed.size() * sizeof(std::uint64_t), "a counter without a name");

}  // namespace

std::vector<std::pair<std::string_view, std::uint64_t>> EngineCounters::named() const {
  std::vector<std::pair<std::string_view, std::uint64_t>> out;
  out.reserve(std::size(kNamed));
  for (const Named& n : kNamed) out.emplace_back(n.name, this->*n.field);
  return out;
}

EngineCounters& EngineCounters::operator+=(const EngineCounters& other) {
  for (const Named& n : kNamed) this->*n.field += other.*n.field;
  return *this;
}

}  // namespace brimwatch
