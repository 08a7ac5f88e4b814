#include "pictures/letter_widths.h"

#include <array>
#include <cstdint>

namespace brimwatch {
namespace {

/// Of the characters from the blank to "~", in thousandths of the size.
using Widths = std::array<std::uint16_t, 95>;
constexpr Widths kPlain = {318,  401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337,
                           636,  636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531,
                           1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
                           603,  787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500,
                           500,  613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612,
                           635,  635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838};
constexpr Widths kBold = {348,  456, 521, 838, 696, 1002, 872, 306,  457, 457, 523, 838, 380, 415,  380, 365,
                          696,  696, 696, 696, 696, 696,  696, 696,  696, 696, 400, 400, 838, 838,  838, 580,
                          1000, 774, 762, 734, 830, 683,  683, 821,  837, 372, 372, 775, 637, 995,  837, 850,
                          733,  850, 770, 720, 682, 812,  774, 1103, 771, 724, 725, 457, 365, 457,  838, 500,
                          500,  675, 716, 593, 716, 678,  435, 716,  712, 343, 343, 665, 343, 1042, 712, 687,
                          716,  716, 493, 595, 478, 712,  652, 924,  645, 652, 582, 712, 365, 712,  838};

}  // namespace

double width_of(std::string_view words, double size, bool bold) {
  const Widths& widths = bold ? kBold : kPlain;
  double sum = 0;
  for (const char c : words) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte >= 0x20 && byte < 0x7f) sum += widths[byte - 0x20U];
    else if (byte >= 0xc0) sum += 1000;  // the first byte of a longer character
  }
  return sum * size / 1000;
}

}  // namespace brimwatch
