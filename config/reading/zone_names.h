#pragma once
// The names of time zones that this machine knows, to refuse a mistyped one where it stands and not to move quiet hours
// without a word. Only names: what a zone means is asked in session/zone.
#include <string>
#include <string_view>
#include <vector>

namespace brimwatch {

/// Looks into the folder only where a name is asked for, and lists it only where a name is not there.
class ZoneNames {
 public:
  explicit ZoneNames(std::string folder) : folder_(std::move(folder)) {}

  /// False where the machine has no time zone database; then no name can be judged.
  [[nodiscard]] bool known() const;
  [[nodiscard]] bool has(std::string_view name) const;
  /// Empty when none is near enough to be meant.
  [[nodiscard]] std::string nearest_to(std::string_view name) const;
  [[nodiscard]] const std::string& folder() const { return folder_; }

 private:
  [[nodiscard]] std::vector<std::string> all() const;

  std::string folder_;
};

}  // namespace brimwatch
