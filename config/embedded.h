#pragma once
// Files of config/ that are part of the program: calendars, samples. Made by config/embed.cmake.
#include <span>
#include <string_view>

namespace brimwatch {

struct EmbeddedFile {
  std::string_view name;  ///< without its folder, e.g. "XNYS.toml"
  std::string_view text;
};

std::span<const EmbeddedFile> embedded_calendars();
std::span<const EmbeddedFile> embedded_conditions();
std::span<const EmbeddedFile> embedded_samples();
std::span<const EmbeddedFile> embedded_page();

}  // namespace brimwatch
