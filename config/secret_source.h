#pragma once
// Where a secret is to be fetched from, as the configuration names it.
#include <cstdint>
#include <string>

namespace brimwatch {

/// Where a secret comes from. The value itself is fetched when it is needed, kept out of every dump and log.
struct SecretSource {
  enum class Kind : std::uint8_t { none, environment, file, credential } kind = Kind::none;
  std::string name;  ///< variable, path, or systemd credential id

  bool operator==(const SecretSource&) const = default;
};

}  // namespace brimwatch
