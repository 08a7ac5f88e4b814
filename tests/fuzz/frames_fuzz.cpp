// A file of frames of any bytes, behind a good head: no crash, and no record longer than the bound.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "tape/frames.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace brimwatch;
  OpenedBytes bytes;
  bytes.name = "fuzz";
  bytes.kind = RecordingKind::frames;
  bytes.bytes = memory_bytes(std::string(kFrameFileMagic) + std::string("\1\0\0\0", 4) +
                             std::string(reinterpret_cast<const char*>(data), size));
  auto reader = FrameReader::open(std::move(bytes));
  if (!reader) std::abort();
  for (;;) {
    const auto frame = (*reader)->next();
    if (!frame || !*frame) return 0;
    if ((*frame)->bytes.size() > kLongestFrame) std::abort();
  }
}
