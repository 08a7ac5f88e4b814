#pragma once
// The HTML part of a mail: reads well on a narrow screen and in dark clients, loads nothing from anywhere.
#include <string>
#include <string_view>

#include "adapters/channel.h"

namespace brimwatch {

/// Content-IDs of the inline pictures without brackets; empty: there is none. A client that knows no media queries shows
/// the one for a light ground.
struct PictureIds {
  std::string light, dark;
};
[[nodiscard]] std::string mail_html(const Message& message, const PictureIds& pictures);

/// `text` with & < > " ' written as character references, cleaned of control characters.
[[nodiscard]] std::string escape_html(std::string_view text);

/// What the picture shows, in a sentence, for who cannot see it.
[[nodiscard]] std::string picture_alt(const Message& message);

}  // namespace brimwatch
