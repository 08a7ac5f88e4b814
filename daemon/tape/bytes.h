#pragma once
// Where the bytes of a tape come from: a plain file, gzip or zstd (told by content, never by name), or standard input.
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>

#include "core/result.h"

namespace brimwatch {

/// A stream of bytes, read once from front to back by one thread.
class ByteSource {
 public:
  virtual ~ByteSource() = default;
  /// Puts at least one byte into `room`, which is not empty; 0 at the end. An error is final.
  virtual Result<std::size_t> read(std::span<char> room) = 0;
  /// True after the end when the writer stopped in the middle (killed, power lost). All that was read is sound.
  [[nodiscard]] virtual bool torn() const { return false; }
};

/// What a recording holds, told from its first bytes.
enum class RecordingKind { ticks, frames };

struct OpenedBytes {
  std::unique_ptr<ByteSource> bytes;  ///< decompressed, from the very first byte
  std::string name;                   ///< for messages
  RecordingKind kind = RecordingKind::ticks;
  bool compressed = false;
  bool regular_file = false;                                ///< reading it never waits for another program
  std::uint64_t file_bytes = 0;                             ///< size of a regular file, before unpacking
  std::shared_ptr<const std::atomic<std::uint64_t>> taken;  ///< bytes of it read so far; counts on while it is read
};

/// Opens `path` ("-" is standard input). Looks at the first bytes only.
[[nodiscard]] Result<OpenedBytes> open_bytes(const std::string& path);

/// Wraps a source of compressed bytes. `name` is for messages.
[[nodiscard]] std::unique_ptr<ByteSource> unzstd(std::unique_ptr<ByteSource> packed, std::string name);
[[nodiscard]] std::unique_ptr<ByteSource> gunzip(std::unique_ptr<ByteSource> packed, std::string name);

/// Bytes that are in memory already; for tests and for tools.
[[nodiscard]] std::unique_ptr<ByteSource> memory_bytes(std::string text);

/// The first bytes of a file of frames; see frames.h.
inline constexpr std::string_view kFrameFileMagic = "brimwatch frames";

}  // namespace brimwatch
