#pragma once
// What differs between the settings in force and those just read, so that a reload touches nothing else. Pure.
#include <cstdint>
#include <string>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

/// Names of what has to be stopped (gone, or changed) and started (new, or changed). A changed one is in both.
struct NameChanges {
  std::vector<std::string> stop, start;

  [[nodiscard]] bool any() const { return !stop.empty() || !start.empty(); }
  bool operator==(const NameChanges&) const = default;
};

/// Watches are told apart by symbol and pivot; where they stand in the files does not count.
struct Changes {
  std::vector<std::uint32_t> added;    ///< indices into the new list
  std::vector<std::uint32_t> removed;  ///< indices into the old list
  std::vector<std::uint32_t> changed;  ///< indices into the new list: rules, dates, normal volume or note
  std::size_t unchanged = 0;
  bool order = false;           ///< the same watches in other places: indices mean others now
  bool symbols = false;         ///< the set of symbols wanted from the feeds differs
  NameChanges feeds, channels;  ///< disabled ones count as not there
  bool session = false, market = false, history = false, record = false, keep = false, page = false, life = false,
       log = false;
  bool evening = false, prepare = false;
  bool shared = false;   ///< as the journal
  bool journal = false;  ///< cannot be changed while running: takes effect at the next start

  [[nodiscard]] bool watches() const { return order || !added.empty() || !removed.empty() || !changed.empty(); }
  [[nodiscard]] bool any() const;
};

/// Nearly linear where most watches kept their order, n log n otherwise.
[[nodiscard]] Changes compare(const Settings& old, const Settings& now);

/// The same terms: everything but the place in the files.
[[nodiscard]] bool same_terms(const Watch& a, const Watch& b);

/// One line for a person: `2 watches added, 1 removed, 37 unchanged; feed "main" restarted; market trend down`. "nothing
/// changed" when so.
[[nodiscard]] std::string summary(const Changes& changes, const Settings& old, const Settings& now);

}  // namespace brimwatch
