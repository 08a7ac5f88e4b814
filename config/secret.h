#pragma once
// Fetches a password, key or signing secret at the moment it is needed. The value is in no setting, log or error; whoever
// gets it lets go of it soon.
#include <string>

#include "config/settings.h"
#include "core/result.h"

namespace brimwatch {

/// The secret without the line end that editors leave; at most 64 KiB. An error names the source and what is wrong with
/// it, never any part of the value:
/// - environment: the variable is not set or empty
/// - file: cannot be read, belongs to someone else than us or root, or others than its owner may read or write it
/// - credential: a file of that name in $CREDENTIALS_DIRECTORY (systemd's LoadCredential=)
/// - none: an error, for whoever asks needs one
[[nodiscard]] Result<std::string> read_secret(const SecretSource& source);

}  // namespace brimwatch
