#pragma once
// The system's journal, where standard error leads there (systemd.exec(5), JOURNAL_STREAM; sd_journal_send(3)).
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace brimwatch {

/// Whether that descriptor is the stream that the service manager opened to journald. Since then it may have been led
/// elsewhere, with the variable still there.
[[nodiscard]] bool is_journald(int descriptor);

/// Whether journald's own socket is there, which takes lines with fields.
[[nodiscard]] bool journald_hears();

using JournaldFields = std::vector<std::pair<std::string_view, std::string_view>>;

/// One entry; `priority` as in syslog(3). False: it did not take it.
[[nodiscard]] bool tell_journald(int priority, std::string_view message, const JournaldFields& fields);

}  // namespace brimwatch
