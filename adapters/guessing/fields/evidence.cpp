#include "adapters/guessing/fields/evidence.h"

#include <cstdio>

namespace brimwatch {

std::string percent_of(double share) {
  char text[16];
  std::snprintf(text, sizeof text, share < 0.0095 ? "%.1f %%" : "%.0f %%", share * 100);
  return text;
}

std::string joined(const std::string& a, const std::string& b) { return a.empty() ? b : b.empty() ? a : a + "; " + b; }

}  // namespace brimwatch
