#pragma once
// A tape's bytes in blocks that a row parser can work on in place: room before each block takes the unfinished row of the
// one before, room behind it lets wide loads run past the end.
#include <cstddef>
#include <memory>
#include <span>

#include "core/result.h"
#include "tape/bytes.h"

namespace brimwatch {

constexpr std::size_t kBlock = 128 * 1024;
constexpr std::size_t kHeadroom = 64 * 1024;  ///< and so the longest row
constexpr std::size_t kSlack = 64;

class Helper;

class Blocks {
 public:
  virtual ~Blocks() = default;
  /// The next bytes; empty at the end. kHeadroom bytes before and kSlack behind them may be written. Valid until the next
  /// call.
  virtual Result<std::span<char>> next() = 0;
  /// See ByteSource::torn; known after the end.
  [[nodiscard]] virtual bool torn() const = 0;
};

/// Reads as it is asked.
[[nodiscard]] std::unique_ptr<Blocks> blocks_of(std::unique_ptr<ByteSource> bytes);

/// Reads ahead with the help of another thread, a few blocks at the most: worth it where the source unpacks. The source
/// must not be one that can wait for ever, for the destructor waits for a read to end.
[[nodiscard]] std::unique_ptr<Blocks> blocks_ahead(std::unique_ptr<ByteSource> bytes, std::shared_ptr<Helper> helper);

}  // namespace brimwatch
