#include "adapters/feeds/decoding/unpack.h"

#include <zlib.h>
#include <zstd.h>

#include <algorithm>

namespace brimwatch {
namespace {

constexpr int kGzipOnly = 16 + MAX_WBITS, kBare = -MAX_WBITS;
constexpr std::size_t kStep = 64 * 1024;

/// RFC 1950: method 8, and the first two bytes a multiple of 31.
bool is_zlib(std::string_view bytes) {
  if (bytes.size() < 2 || (bytes[0] & 0x0F) != 8) return false;
  return (static_cast<unsigned char>(bytes[0]) * 256U + static_cast<unsigned char>(bytes[1])) % 31 == 0;
}

/// No packed JSON or MessagePack begins so: not with deflate's first bits before '{', '[' or a map, nor with a magic
/// number.
bool begins_like_json(std::string_view bytes) { return !bytes.empty() && (bytes[0] == '{' || bytes[0] == '['); }

}  // namespace

struct Unpacker::Body {
  explicit Body(Packing what) : packing(what) {
    if (packing == Packing::zstd) zstd = ZSTD_createDCtx();
  }
  ~Body() {
    if (zstd != nullptr) ZSTD_freeDCtx(zstd);
  }
  Body(const Body&) = delete;
  Body& operator=(const Body&) = delete;

  bool inflate_all(std::string_view frame, std::size_t most, int window);
  bool unzstd_all(std::string_view frame, std::size_t most);
  /// Room for the next bytes; false when there is to be no more.
  bool grow(std::size_t used, std::size_t most);
  bool failed(std::string_view what) { return fault = what, false; }

  Packing packing;
  ZSTD_DCtx* zstd = nullptr;
  std::string text, fault;
};

bool Unpacker::Body::grow(std::size_t used, std::size_t most) {
  if (used > most) return failed("unpacked it is longer than the " + std::to_string(most) + " bytes allowed");
  text.resize(std::max(text.size(), std::min(used + kStep, most + 1)));
  return true;
}

bool Unpacker::Body::inflate_all(std::string_view frame, std::size_t most, int window) {
  z_stream stream{};
  if (inflateInit2(&stream, window) != Z_OK) return failed("no memory to unpack it");
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(frame.data()));
  stream.avail_in = static_cast<uInt>(frame.size());
  std::size_t used = 0;
  int code = Z_OK;
  while (code == Z_OK && grow(used, most)) {
    stream.next_out = reinterpret_cast<Bytef*>(text.data() + used);
    stream.avail_out = static_cast<uInt>(text.size() - used);
    code = inflate(&stream, Z_SYNC_FLUSH);
    used = text.size() - stream.avail_out;
    if (code == Z_BUF_ERROR && stream.avail_out == 0) code = Z_OK;
  }
  // A message may end at a flush in place of the stream's end.
  const bool whole = code == Z_STREAM_END || (code == Z_BUF_ERROR && stream.avail_in == 0 && window == kBare && used > 0);
  const bool more = stream.avail_in > 0;
  inflateEnd(&stream);
  if (code == Z_OK) return false;  // too long, told already
  if (!whole) return failed("the packed data is damaged or cut off");
  if (more) return failed("more bytes behind the packed data");
  text.resize(used);
  return used <= most || failed("unpacked it is longer than the " + std::to_string(most) + " bytes allowed");
}

bool Unpacker::Body::unzstd_all(std::string_view frame, std::size_t most) {
  ZSTD_DCtx_reset(zstd, ZSTD_reset_session_only);
  ZSTD_inBuffer in{frame.data(), frame.size(), 0};
  std::size_t used = 0, hint = 1;
  while (hint != 0) {
    if (!grow(used, most)) return false;
    ZSTD_outBuffer out{text.data(), text.size(), used};
    const std::size_t taken = in.pos;
    hint = ZSTD_decompressStream(zstd, &out, &in);
    if (ZSTD_isError(hint)) return failed(std::string("the packed data is damaged: ") + ZSTD_getErrorName(hint));
    if (hint != 0 && in.pos == taken && out.pos == used) return failed("the packed data is cut off");
    used = out.pos;
  }
  if (in.pos < in.size) return failed("more bytes behind the packed data");
  text.resize(used);
  return used <= most || failed("unpacked it is longer than the " + std::to_string(most) + " bytes allowed");
}

Unpacker::Unpacker(Packing packing) : body_(std::make_unique<Body>(packing)) {}
Unpacker::~Unpacker() = default;
const std::string& Unpacker::fault() const { return body_->fault; }

std::string_view Unpacker::unpack(std::string_view frame, std::size_t most) {
  Body& body = *body_;
  body.text.clear();
  if (begins_like_json(frame)) return frame;
  bool good = false;
  switch (body.packing) {
    case Packing::none:
      return frame;
    case Packing::gzip:
      good = body.inflate_all(frame, most, kGzipOnly);
      break;
    case Packing::deflate:
      good = body.inflate_all(frame, most, is_zlib(frame) ? MAX_WBITS : kBare);
      break;
    case Packing::zstd:
      good = body.unzstd_all(frame, most);
      break;
  }
  return good ? std::string_view(body.text) : std::string_view();
}

std::string_view packing_of(std::string_view frame) {
  using namespace std::string_view_literals;
  if (frame.substr(0, 3) == "\x1F\x8B\x08"sv) return "gzip";
  if (frame.substr(0, 4) == "\x28\xB5\x2F\xFD"sv) return "zstd";
  return is_zlib(frame) && !begins_like_json(frame) ? "deflate" : "";
}

}  // namespace brimwatch
