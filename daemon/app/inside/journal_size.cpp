#include "app/inside/journal_size.h"

#include <filesystem>

namespace brimwatch {
namespace {

constexpr Nanos kMeasureEvery = kMinute;

std::uint64_t size_of_journal(const std::string& path) {
  std::uint64_t bytes = 0;
  for (const char* part : {"", "-wal"}) {
    std::error_code none;
    const auto size = std::filesystem::file_size(path + part, none);
    if (!none) bytes += size;
  }
  return bytes;
}

}  // namespace

void JournalSize::on_beat(Nanos steady) {
  if (measured_ != 0 && steady - measured_ < kMeasureEvery) return;
  measured_ = steady;
  chores_.start(
      [this, path = journal_]() -> Worker::Answer { return [this, bytes = size_of_journal(path)] { bytes_ = bytes; }; },
      [](const std::string&) {});
}

}  // namespace brimwatch
