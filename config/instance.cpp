// Apart from the other places, because a secret needs to know it too.
#include "config/paths.h"

namespace brimwatch {
namespace {
Instance chosen = Instance::own;
}

void be_about(Instance which) { chosen = which; }
Instance about_which() { return chosen; }

}  // namespace brimwatch
