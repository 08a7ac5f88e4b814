#pragma once
// Settings laid out for the engine, off the loop: a million watches take seconds.
#include <functional>

#include "app/inside/chores.h"
#include "desk/ready_desk.h"

namespace brimwatch {

/// `then` gets the parts, or why there are none: on the loop's thread, once.
void lay_out(Chores& chores, Settings settings, const std::function<void(ReadyDesk)>& then);

}  // namespace brimwatch
