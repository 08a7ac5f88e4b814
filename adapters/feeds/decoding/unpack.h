#pragma once
// Frames that come packed: gzip (RFC 1952), deflate (RFC 1951, bare or in the wrapping of RFC 1950), zstd (RFC 8878).
// Pure; what is unpacked has a bound, whatever the packed bytes claim.
#include <memory>
#include <string>
#include <string_view>

#include "adapters/feeds/decoding/mapping.h"

namespace brimwatch {

class Unpacker {
 public:
  explicit Unpacker(Packing packing);
  ~Unpacker();
  Unpacker(const Unpacker&) = delete;
  Unpacker& operator=(const Unpacker&) = delete;

  /// The text of the frame, at most `most` bytes; it lives until the next call. A frame that begins like JSON stays as it
  /// is: some pack data only, and not their answers. Empty data() when it cannot be unpacked: fault() says why.
  [[nodiscard]] std::string_view unpack(std::string_view frame, std::size_t most);
  [[nodiscard]] const std::string& fault() const;

 private:
  struct Body;
  std::unique_ptr<Body> body_;
};

/// What the bytes are packed with, told from their beginning: "gzip", "zstd", "deflate" (with a header), or nothing.
[[nodiscard]] std::string_view packing_of(std::string_view frame);

}  // namespace brimwatch
