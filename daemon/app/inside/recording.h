#pragma once
// The recorder, if the settings want one, and what the house hands it.
#include <memory>

#include "desk/desk.h"
#include "live/house.h"
#include "tape/recorder.h"

namespace brimwatch {

/// Null: nothing is to be recorded.
[[nodiscard]] Result<std::unique_ptr<Recorder>> open_recorder(const Desk& desk);

/// Recorder and table outlive the house.
void record_into(Recorder& recorder, const SymbolTable& symbols, HouseWorld& world);

}  // namespace brimwatch
