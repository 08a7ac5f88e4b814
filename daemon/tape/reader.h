#pragma once
// A tape as ticks: a CSV file (RFC 4180, header required, columns found by name) plain, gzip or zstd, read once from
// front to back in bounded memory, whatever its length.
//
// A row that cannot be read is counted, told (the first few) and skipped. Too many of them end the reading with an error,
// as does a broken header or damaged compression. A recording whose writer was killed ends without one: stats().torn says
// so.
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/result.h"
#include "core/symbols.h"
#include "core/tick.h"
#include "tape/bytes.h"

namespace brimwatch {

struct TapeOptions {
  std::optional<Timestamp> from, to;  ///< exchange time, from <= time < to; rows outside are counted and left out
  /// More bad rows than this share of all (of 100 at least, so that a short tape may have one) are an error. It is looked
  /// at once a thousand rows are read and at the end.
  double most_bad_share = 0.01;
  std::size_t most_told = 5;  ///< messages about single rows that are kept
  bool plain_path = false;    ///< every row through the slow, complete reading: for tests that compare the two
};

struct TapeStats {
  std::uint64_t rows = 0;  ///< header and blank lines not counted; rows = ticks + malformed + outside
  std::uint64_t ticks = 0;
  std::uint64_t malformed = 0;
  std::uint64_t outside = 0;         ///< not between from and to
  std::uint64_t cut_conditions = 0;  ///< rows with more than eight condition codes
  std::uint64_t blank_lines = 0;
  std::uint64_t bytes = 0;                   ///< of text, after unpacking
  bool torn = false;                         ///< the writer stopped in the middle; its unfinished last row is left out
  std::vector<std::string> told;             ///< "FILE:LINE:COLUMN: ..." of the first malformed rows
  std::vector<std::string> ignored_columns;  ///< not known, named once
};

class Helper;

class TapeReader {
 public:
  static constexpr std::size_t kBatch = 256;  ///< ticks; 27 kB, so that they are still in the nearest cache when used

  /// Opens `path` ("-" is standard input) and reads the header. Symbols are interned as they are met. One thread uses the
  /// reader and the table; unpacking runs on another one inside.
  [[nodiscard]] static Result<std::unique_ptr<TapeReader>> open(const std::string& path, SymbolTable& symbols,
                                                                const TapeOptions& options = {});
  /// The same on bytes that are open already. `helper` is the thread that unpacks; none: one of its own.
  [[nodiscard]] static Result<std::unique_ptr<TapeReader>> open(OpenedBytes bytes, SymbolTable& symbols,
                                                                const TapeOptions& options = {},
                                                                std::shared_ptr<Helper> helper = nullptr);
  ~TapeReader();
  TapeReader(const TapeReader&) = delete;
  TapeReader& operator=(const TapeReader&) = delete;

  /// The next ticks in the order of the rows; empty at the end. Valid until the next call. After an error it stays at the
  /// end.
  [[nodiscard]] Result<std::span<const Tick>> next();
  /// The same into the caller's own room, kBatch of them at the most: how many there are now at its beginning. The rest
  /// of it may be written to.
  [[nodiscard]] Result<std::size_t> next(std::span<Tick> room);

  [[nodiscard]] const TapeStats& stats() const;
  /// One line for a person: what was read and what was not.
  [[nodiscard]] std::string summary() const;

 private:
  struct Impl;
  explicit TapeReader(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace brimwatch
