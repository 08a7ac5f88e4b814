#pragma once
// The text of the file of devices. Pure.
#include <string>
#include <string_view>

#include "adapters/push/devices.h"

namespace brimwatch {

[[nodiscard]] std::string to_text(const DeviceBook& book);

/// The error says what was found and what is allowed, without the file's name.
[[nodiscard]] Result<DeviceBook> device_book_of(std::string_view text);

}  // namespace brimwatch
