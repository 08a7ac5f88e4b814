#include "commands/answers/qr_picture.h"

#include <exception>
#include <memory>

#include "adapters/libraries/qrencode.h"

namespace brimwatch {
namespace {

constexpr int kQuiet = 4;  // modules, as the standard wants

/// The upper and the lower module of one character.
const char* half_blocks(bool upper, bool lower) {
  if (upper && lower) return "\u2588";
  if (upper) return "\u2580";
  return lower ? "\u2584" : " ";
}

}  // namespace

Result<std::vector<std::string>> qr_picture(const std::string& text, bool dark_on_light) try {
  const std::unique_ptr<QRcode, void (*)(QRcode*)> code(
      qrencode().encode_string(text.c_str(), 0, QR_ECLEVEL_L, QR_MODE_8, 1), [](QRcode* one) { qrencode().free(one); });
  if (code == nullptr) return fail("this address is too long for a QR code");
  const int size = code->width + 2 * kQuiet;
  const auto is_drawn = [&](int row, int column) {
    const int y = row - kQuiet, x = column - kQuiet;
    const bool inside = y >= 0 && x >= 0 && y < code->width && x < code->width;
    const bool dark = inside && (code->data[y * code->width + x] & 1) != 0;
    return row < size && dark == dark_on_light;
  };
  std::vector<std::string> lines;
  for (int row = 0; row < size; row += 2) {
    lines.emplace_back();
    for (int column = 0; column < size; ++column)
      lines.back() += half_blocks(is_drawn(row, column), is_drawn(row + 1, column));
  }
  return lines;
} catch (const std::exception& error) {
  return fail(std::string(error.what()) + " (Debian: libqrencode4)");
}

}  // namespace brimwatch
