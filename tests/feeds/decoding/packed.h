#pragma once
// Text packed by the reference library.
#include <gtest/gtest.h>
#include <zlib.h>

#include <string>

namespace brimwatch {

// Windows of deflateInit2(), which say the form too.
inline constexpr int kZlib = 15, kGzip = 16 + 15, kDeflate = -15;

inline std::string with_zlib(const std::string& text, int window) {
  z_stream stream{};
  EXPECT_EQ(deflateInit2(&stream, 9, Z_DEFLATED, window, 8, Z_DEFAULT_STRATEGY), Z_OK);
  std::string out(deflateBound(&stream, text.size()), '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  EXPECT_EQ(deflate(&stream, Z_FINISH), Z_STREAM_END);
  out.resize(stream.total_out);
  deflateEnd(&stream);
  return out;
}

}  // namespace brimwatch
