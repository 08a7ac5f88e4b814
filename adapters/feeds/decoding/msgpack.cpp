#include "adapters/feeds/decoding/msgpack.h"

#include <bit>
#include <charconv>
#include <cmath>
#include <cstdint>

#include "core/text/timestamp.h"

namespace brimwatch {
namespace {

constexpr int kDeepest = 32;

class Transcriber {
 public:
  Transcriber(std::string_view bytes, std::size_t most, std::string& out) : bytes_(bytes), most_(most), out_(out) {}

  std::string_view run() {
    if (value(0) && at_ < bytes_.size()) fault_ = "more behind the end of the MessagePack value";
    return fault_;
  }

 private:
  bool failed(std::string_view what) { return fault_ = what, false; }
  bool cut_off() { return failed("the MessagePack data is cut off"); }

  /// A big-endian number of so many bytes.
  bool number(std::size_t bytes, std::uint64_t& into) {
    if (bytes_.size() - at_ < bytes) return cut_off();
    into = 0;
    for (std::size_t i = 0; i < bytes; ++i) into = into << 8 | static_cast<unsigned char>(bytes_[at_++]);
    return true;
  }

  bool value(int depth) {
    if (depth > kDeepest) return failed("MessagePack nested too deeply");
    if (out_.size() > most_) return failed("as JSON it is longer than allowed");
    std::uint64_t tag = 0;
    if (!number(1, tag)) return false;
    if (tag < 0x80) return put(tag);
    if (tag < 0x90) return map(tag & 0x0F, depth);
    if (tag < 0xA0) return array(tag & 0x0F, depth);
    if (tag < 0xC0) return text(tag & 0x1F);
    if (tag >= 0xE0) return put(static_cast<std::int64_t>(tag) - 256);
    return by_tag(static_cast<unsigned>(tag), depth);
  }

  bool by_tag(unsigned tag, int depth) {
    std::uint64_t n = 0;
    switch (tag) {
      case 0xC0:
        return word("null");
      case 0xC2:
        return word("false");
      case 0xC3:
        return word("true");
      case 0xC4:
      case 0xC5:
      case 0xC6:
        return number(1U << (tag - 0xC4), n) && skip(n);
      case 0xC7:
      case 0xC8:
      case 0xC9:
        return number(1U << (tag - 0xC7), n) && extension(n);
      case 0xCA:
        return number(4, n) && put_float(std::bit_cast<float>(static_cast<std::uint32_t>(n)));
      case 0xCB:
        return number(8, n) && put_float(std::bit_cast<double>(n));
      case 0xCC:
      case 0xCD:
      case 0xCE:
      case 0xCF:
        return number(1U << (tag - 0xCC), n) && put(n);
      case 0xD0:
        return number(1, n) && put(std::int64_t{static_cast<std::int8_t>(n)});
      case 0xD1:
        return number(2, n) && put(std::int64_t{static_cast<std::int16_t>(n)});
      case 0xD2:
        return number(4, n) && put(std::int64_t{static_cast<std::int32_t>(n)});
      case 0xD3:
        return number(8, n) && put(static_cast<std::int64_t>(n));
      case 0xD4:
      case 0xD5:
      case 0xD6:
      case 0xD7:
      case 0xD8:
        return extension(1U << (tag - 0xD4));
      case 0xD9:
      case 0xDA:
      case 0xDB:
        return number(1U << (tag - 0xD9), n) && text(n);
      case 0xDC:
      case 0xDD:
        return number(2U << (tag - 0xDC), n) && array(n, depth);
      case 0xDE:
      case 0xDF:
        return number(2U << (tag - 0xDE), n) && map(n, depth);
      default:
        return failed("a byte that MessagePack does not use");
    }
  }

  bool word(std::string_view text) { return out_ += text, true; }

  template <typename Whole>
  bool put(Whole value) {
    return word(std::to_string(value));
  }

  template <typename Float>
  bool put_float(Float value) {
    if (!std::isfinite(value)) return word("NaN");
    char digits[64];
    const auto end = std::to_chars(digits, digits + sizeof digits, value).ptr;
    std::string_view text(digits, static_cast<std::size_t>(end - digits));
    return word(text);
  }

  bool text(std::uint64_t size) {
    if (bytes_.size() - at_ < size) return cut_off();
    put_text(bytes_.substr(at_, size));
    at_ += size;
    return true;
  }

  void put_text(std::string_view text) {
    constexpr char kHex[] = "0123456789abcdef";
    out_ += '"';
    for (const char c : text) {
      if (c == '"' || c == '\\') (out_ += '\\') += c;
      else if (static_cast<unsigned char>(c) < 0x20) ((out_ += "\\u00") += kHex[c >> 4]) += kHex[c & 15];
      else out_ += c;
    }
    out_ += '"';
  }

  bool skip(std::uint64_t size) {
    if (bytes_.size() - at_ < size) return cut_off();
    at_ += size;
    return word("null");
  }

  bool array(std::uint64_t count, int depth) {
    out_ += '[';
    for (std::uint64_t i = 0; i < count; ++i) {
      if (i > 0) out_ += ',';
      if (!value(depth + 1)) return false;
    }
    return word("]");
  }

  bool map(std::uint64_t count, int depth) {
    out_ += '{';
    for (std::uint64_t i = 0; i < count; ++i) {
      if (i > 0) out_ += ',';
      if (!key(depth)) return false;
      out_ += ':';
      if (!value(depth + 1)) return false;
    }
    return word("}");
  }

  /// JSON's names are texts: a number in their place is written as one.
  bool key(int depth) {
    const std::size_t begin = out_.size();
    if (!value(depth + 1)) return false;
    const char first = out_[begin];
    if (first == '"') return true;
    if (first == '{' || first == '[') return failed("a name that is neither text nor number");
    out_.insert(begin, 1, '"');
    return word("\"");
  }

  bool extension(std::uint64_t size) {
    std::uint64_t type = 0;
    if (!number(1, type)) return false;
    const bool is_time = type == 0xFF && (size == 4 || size == 8 || size == 12);
    return is_time ? time(size) : skip(size);
  }

  /// Extension type -1: seconds in 32 bits; or nanoseconds in 30 and seconds in 34; or 32 and 64.
  bool time(std::uint64_t size) {
    std::uint64_t seconds = 0, nanos = 0;
    if (size == 12 && !number(4, nanos)) return false;
    if (!number(size == 4 ? 4 : 8, seconds)) return false;
    if (size == 8) nanos = seconds >> 34, seconds &= (std::uint64_t{1} << 34) - 1;
    constexpr std::uint64_t kLatest = 9'000'000'000;  // beyond the year 2200 nanoseconds end
    if (seconds > kLatest || nanos > 999'999'999) return word("null");
    const auto ns = static_cast<Nanos>(seconds) * kSecond + static_cast<Nanos>(nanos);
    return word("\"" + to_rfc3339(Timestamp{ns}) + "\"");
  }

  std::string_view bytes_;
  std::size_t at_ = 0;
  const std::size_t most_;
  std::string& out_;
  std::string_view fault_;
};

}  // namespace

std::string_view json_of_msgpack(std::string_view bytes, std::size_t most, std::string& out) {
  return Transcriber(bytes, most, out).run();
}

}  // namespace brimwatch
