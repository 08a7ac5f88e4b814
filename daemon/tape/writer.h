#pragma once
// Writes a tape that TapeReader reads back: CSV with every column, packed as zstd or plain.
#include <memory>
#include <string>
#include <string_view>

#include "core/result.h"
#include "core/tick.h"
#include "tape/packed_file.h"

namespace brimwatch {

class TapeWriter {
 public:
  /// Makes the file; it must not be there yet.
  [[nodiscard]] static Result<std::unique_ptr<TapeWriter>> create(
      const std::string& path, PackedFile::Packing packing = PackedFile::Packing::zstd);

  /// `symbol` is the name of tick.symbol; empty for a hole in all symbols.
  [[nodiscard]] Status write(const Tick& tick, std::string_view symbol);
  [[nodiscard]] Status flush();
  [[nodiscard]] Status close();
  [[nodiscard]] std::uint64_t size() const { return file_->size(); }

 private:
  explicit TapeWriter(std::unique_ptr<PackedFile> file) : file_(std::move(file)) {}
  Status hand_on();

  std::unique_ptr<PackedFile> file_;
  std::string rows_;
};

}  // namespace brimwatch
