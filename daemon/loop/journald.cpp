#include "loop/journald.h"

#include <sys/stat.h>
#include <sys/uio.h>
#include <systemd/sd-journal.h>
#include <unistd.h>

#include <cstdlib>

namespace brimwatch {

bool is_journald(int descriptor) {
  const char* stream = std::getenv("JOURNAL_STREAM");
  struct stat seen {};
  if (stream == nullptr || ::fstat(descriptor, &seen) != 0) return false;
  return std::to_string(seen.st_dev) + ":" + std::to_string(seen.st_ino) == stream;
}

bool journald_hears() { return ::access("/run/systemd/journal/socket", W_OK) == 0; }

bool tell_journald(int priority, std::string_view message, const JournaldFields& fields) {
  std::vector<std::string> lines{"MESSAGE=" + std::string(message), "PRIORITY=" + std::to_string(priority),
                                 "SYSLOG_IDENTIFIER=brimwatch"};
  for (const auto& [name, value] : fields) lines.push_back(std::string(name) + "=" + std::string(value));
  std::vector<iovec> parts;
  parts.reserve(lines.size());
  for (std::string& line : lines) parts.push_back({line.data(), line.size()});
  return ::sd_journal_sendv(parts.data(), static_cast<int>(parts.size())) >= 0;
}

}  // namespace brimwatch
