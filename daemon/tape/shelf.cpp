#include "tape/shelf.h"

#include <sys/stat.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <optional>
#include <tuple>

#include "files/own_files.h"

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

constexpr int kMostParts = 999;

struct Naming {
  RecordingKind kind;
  std::string_view start, end;
};
constexpr std::array<Naming, 2> kNamings{
    {{RecordingKind::ticks, "tape-", ".csv.zst"}, {RecordingKind::frames, "frames-", ".zst"}}};

/// "tape-2026-11-25.001.csv.zst" read back; empty for any other name.
std::optional<Recording> parse_name(std::string_view name) {
  for (const Naming& naming : kNamings) {
    constexpr std::size_t kMiddle = std::string_view("2026-11-25.001").size();
    if (name.size() != naming.start.size() + kMiddle + naming.end.size()) continue;
    if (!name.starts_with(naming.start) || !name.ends_with(naming.end)) continue;
    const std::string_view middle = name.substr(naming.start.size(), kMiddle);
    const auto day = parse_date(middle.substr(0, 10));
    int part = 0;
    const auto [end, error] = std::from_chars(middle.data() + 11, middle.data() + kMiddle, part);
    if (!day || middle[10] != '.' || error != std::errc() || end != middle.data() + kMiddle) continue;
    return Recording{"", naming.kind, *day, part, 0};
  }
  return std::nullopt;
}

std::string name_of(RecordingKind kind, Date day, int part) {
  const Naming& naming = kNamings[kind == RecordingKind::ticks ? 0 : 1];
  char number[16];
  std::snprintf(number, sizeof number, ".%03d", part);
  return std::string(naming.start) + to_string(day) + number + std::string(naming.end);
}

}  // namespace

Result<Shelf> Shelf::open(const std::string& directory, std::uint64_t bytes_most) {
  std::error_code error;
  if (fs::create_directories(directory, error)) fs::permissions(directory, fs::perms::owner_all, error);
  if (error) return fail(directory + ": cannot be made: " + error.message());
  if (!fs::is_directory(directory, error)) return fail(directory + ": is not a directory; nothing is recorded");
  return Shelf(directory, bytes_most);
}

std::vector<Recording> Shelf::recordings() const {
  std::vector<Recording> found;
  std::error_code error;
  for (fs::directory_iterator at(directory_, error), end; !error && at != end; at.increment(error)) {
    auto recording = parse_name(at->path().filename().string());
    if (!recording) continue;
    std::error_code gone;
    recording->path = at->path().string();
    recording->bytes = at->file_size(gone);
    if (!gone) found.push_back(std::move(*recording));
  }
  std::sort(found.begin(), found.end(), [](const Recording& a, const Recording& b) {
    return std::tuple(a.day, a.kind, a.part) < std::tuple(b.day, b.kind, b.part);
  });
  return found;
}

Result<std::string> Shelf::new_path(RecordingKind kind, Date day) const {
  int part = 1;
  for (const Recording& recording : recordings()) {
    if (recording.kind == kind && recording.day == day) part = std::max(part, recording.part + 1);
  }
  if (part > kMostParts)
    return fail(directory_ + ": found 999 parts of " + to_string(day) + " already; nothing more of it is recorded");
  return (fs::path(directory_) / name_of(kind, day, part)).string();
}

Shelf::Room Shelf::make_room(const std::vector<std::string>& in_use) const {
  Room room;
  const std::vector<Recording> all = recordings();
  for (const Recording& recording : all) room.bytes += recording.bytes;
  for (const Recording& recording : all) {
    if (room.bytes <= bytes_most_) break;
    if (std::find(in_use.begin(), in_use.end(), recording.path) != in_use.end()) continue;
    if (!remove_plain_file(recording.path)) continue;
    room.bytes -= recording.bytes;
    ++room.removed;
  }
  return room;
}

}  // namespace brimwatch
