#pragma once
// Fetches a password, key or signing secret at the moment it is needed. The value is in no setting, log or error, and is
// overwritten where it is let go of.
#include <string>
#include <utility>

#include "config/settings.h"
#include "config/wipe.h"
#include "core/result.h"

namespace brimwatch {

/// A text that is overwritten when it is not needed any more.
class Secret {
 public:
  Secret() = default;
  explicit Secret(std::string&& value) : value_(value) { wipe(value); }
  explicit Secret(const char* value) : value_(value) {}
  Secret(Secret&& other) noexcept : value_(other.value_) { wipe(other.value_); }
  Secret& operator=(Secret&& other) noexcept {
    if (this == &other) return *this;
    wipe(value_);
    value_ = other.value_;
    wipe(other.value_);
    return *this;
  }
  ~Secret() { wipe(value_); }
  [[nodiscard]] const std::string& text() const { return value_; }

 private:
  std::string value_;
};

/// The secret without the line end that editors leave; at most 64 KiB. An error names the source and what is wrong with
/// it, never any part of the value:
/// - environment: the variable is not set or empty
/// - file: cannot be read, belongs to someone else than us or root, or others than its owner may read or write it
/// - credential: a file of that name in $CREDENTIALS_DIRECTORY (systemd's LoadCredential=)
/// - none: an error, for whoever asks needs one
[[nodiscard]] Result<Secret> read_secret(const SecretSource& source);

/// `text` with every occurrence of the secret blotted out, also as JSON and addresses write it: for whatever goes to a
/// log or a person. To be called before the text is cut, or half of a secret is left.
[[nodiscard]] std::string without_secret(std::string text, const std::string& secret);

}  // namespace brimwatch
