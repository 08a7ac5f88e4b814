#pragma once
// A file of frames: what a feed sent, byte for byte, with when it came and from which feed, so that a mistake of a
// decoder can be replayed away.
//
// Format, version 2, inside a zstd stream (all numbers little-endian):
//   16 bytes  "brimwatch frames"
//   u32       version
//   records, one behind the other:
//     u32     length of the body, at most 16 MiB
//     u32     CRC-32 of the body (ISO 3309, as in gzip)
//     body:   i64  received, nanoseconds since 1970
//             u8   0: a frame; 1: a gap, in which frames were dropped; 2: the feed's connection came or went
//             u8   length of the feed's name, then the name
//             rest of the body: a frame's bytes; of a gap: i64 its start, u64 number of frames dropped (received is its
//             end); of a connection: u8 1 when it is up, 0 when it is down, then why
// Version 1 had no third kind and is read as well.
// A file that ends inside a record was cut off; what stands before is sound. A wrong checksum or length is damage.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "core/result.h"
#include "core/text/timestamp.h"
#include "tape/bytes.h"
#include "tape/packed_file.h"

namespace brimwatch {

constexpr std::size_t kLongestFrame = 16 << 20;  ///< bytes of a record's body

struct Frame {
  enum class Kind : std::uint8_t { bytes, gap, connection } kind = Kind::bytes;
  Timestamp received;
  std::string_view feed;
  std::string_view bytes;  ///< of a frame; of a connection: why
  Timestamp gap_from;      ///< of a gap, which ends at `received`
  std::uint64_t dropped = 0;
  bool up = false;  ///< of a connection
};

/// The body of a record, without length and checksum.
void append_frame_body(std::string& out, const Frame& frame);
/// Whether such a body is of a frame, not of a gap or a connection.
[[nodiscard]] bool is_frame_body(std::string_view body);

class FrameWriter {
 public:
  /// Makes the file; it must not be there yet.
  [[nodiscard]] static Result<std::unique_ptr<FrameWriter>> create(const std::string& path);
  [[nodiscard]] Status write(const Frame& frame);
  [[nodiscard]] Status write_body(std::string_view body);
  [[nodiscard]] Status flush() { return file_->flush(); }
  [[nodiscard]] Status close() { return file_->close(); }
  [[nodiscard]] std::uint64_t size() const { return file_->size(); }

 private:
  explicit FrameWriter(std::unique_ptr<PackedFile> file) : file_(std::move(file)) {}
  std::unique_ptr<PackedFile> file_;
  std::string body_;
};

class FrameReader {
 public:
  [[nodiscard]] static Result<std::unique_ptr<FrameReader>> open(const std::string& path);
  [[nodiscard]] static Result<std::unique_ptr<FrameReader>> open(OpenedBytes bytes);

  /// The next record; empty at the end. Views are valid until the next call.
  [[nodiscard]] Result<std::optional<Frame>> next();
  /// True after the end when the writer was cut off.
  [[nodiscard]] bool torn() const { return torn_; }
  [[nodiscard]] std::uint64_t frames() const { return frames_; }

 private:
  explicit FrameReader(OpenedBytes bytes) : bytes_(std::move(bytes.bytes)), name_(std::move(bytes.name)) {}
  Result<bool> have(std::size_t count);
  Status header();
  [[nodiscard]] tl::unexpected<Error> damaged(const std::string& what) const;

  std::unique_ptr<ByteSource> bytes_;
  std::string name_, buffer_;
  std::size_t at_ = 0;      ///< of the next byte in the buffer
  std::uint64_t read_ = 0;  ///< bytes of text before it
  std::uint64_t frames_ = 0;
  bool ended_ = false, torn_ = false;
};

}  // namespace brimwatch
