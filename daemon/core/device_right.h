#pragma once
// What a device may do that reads the page: look, or answer too (acknowledge, mute, change watches).
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace brimwatch {

enum class DeviceRight : std::uint8_t { none, look, answer };

[[nodiscard]] constexpr std::string_view to_string(DeviceRight right) {
  return right == DeviceRight::answer ? "answer" : right == DeviceRight::look ? "look" : "none";
}

[[nodiscard]] constexpr std::optional<DeviceRight> device_right_of(std::string_view word) {
  if (word == "look") return DeviceRight::look;
  if (word == "answer") return DeviceRight::answer;
  return std::nullopt;
}

/// Who asks the page.
struct Visitor {
  DeviceRight right = DeviceRight::none;
  std::string id{};    ///< of the paired device; empty on this machine
  std::string name{};  ///< as the user called it; "this machine" on this machine
};

}  // namespace brimwatch
