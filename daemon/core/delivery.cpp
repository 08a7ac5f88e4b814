#include "core/delivery.h"

namespace brimwatch {

std::string_view to_string(DeliveryState state) {
  constexpr std::string_view kWords[] = {"pending", "sending", "delivered", "unknown", "dead", "expired"};
  return kWords[static_cast<std::size_t>(state)];
}

}  // namespace brimwatch
