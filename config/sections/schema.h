#pragma once
// The JSON Schema of the configuration (draft 4, which editors for TOML understand), made from the same tables of keys
// that the loader reads by. It serves the main file and watch lists alike.
#include <string>

namespace brimwatch {

/// config/brimwatch.schema.json, byte for byte; a test holds the two together.
[[nodiscard]] std::string json_schema();

}  // namespace brimwatch
