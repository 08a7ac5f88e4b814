#pragma once
// A file that is written once, from front to back, as zstd or plain. After a flush all that was appended can be read
// back, whatever becomes of the process: the reader finds a frame that is not finished and says "torn", not "damaged".
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"

namespace brimwatch {

class PackedFile {
 public:
  enum class Packing : std::uint8_t { none, zstd };

  /// Makes the file, for its owner alone; one that is there already is an error, for appending behind a torn frame would
  /// spoil it.
  [[nodiscard]] static Result<std::unique_ptr<PackedFile>> create(const std::string& path, Packing packing);
  virtual ~PackedFile() = default;

  [[nodiscard]] virtual Status append(std::string_view bytes) = 0;
  /// Hands everything to the operating system. Now and then it ends a zstd frame, whose checksum then covers it.
  [[nodiscard]] virtual Status flush() = 0;
  /// Flushes and ends the file. Without it the file is like one whose writer was killed at its last flush.
  [[nodiscard]] virtual Status close() = 0;
  /// Bytes in the file.
  [[nodiscard]] virtual std::uint64_t size() const = 0;
};

}  // namespace brimwatch
