// The console: one notice after the other, aligned, on standard output. Colour only where a person looks at a terminal
// and has not asked for none (NO_COLOR); the words say everything that the colour says.
#include <unistd.h>

#include <cstdlib>
#include <string_view>

#include "adapters/channels/makers.h"

namespace brimwatch {
namespace {

constexpr std::string_view kBold = "\x1b[1m", kPlain = "\x1b[0m";

std::string_view colour_of(const Notice& notice) {
  switch (notice.kind) {
    case NoticeKind::crossed:
    case NoticeKind::volume_arrived:
      return "\x1b[1;36m";  // bright: it may matter this very minute
    case NoticeKind::loss_limit:
    case NoticeKind::fell_under:
    case NoticeKind::feed_silent:
    case NoticeKind::feed_late:
    case NoticeKind::corrected:
      return "\x1b[1;33m";
    case NoticeKind::opened_over:
    case NoticeKind::volume_faded:
    case NoticeKind::left_range:
    case NoticeKind::back_inside:
    case NoticeKind::halted:
    case NoticeKind::resumed:
    case NoticeKind::feed_back:
    case NoticeKind::day_end:
    case NoticeKind::self_check:
      return kBold;
  }
  return kPlain;
}

bool wants_colour(std::FILE* out) {
  const char* no_color = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  if (no_color != nullptr && *no_color != '\0') return false;
  return isatty(fileno(out)) == 1 && term != nullptr && std::string_view(term) != "dumb";
}

class Console final : public Channel {
 public:
  explicit Console(std::FILE* out) : out_(out), colour_(wants_colour(out)) {}

  Delivery send(const Message& message) override {
    const std::string text = painted(message) + "\n";
    const bool written = std::fwrite(text.data(), 1, text.size(), out_) == text.size() && std::fflush(out_) == 0;
    if (written) return {Outcome::delivered, "written", std::nullopt};
    std::clearerr(out_);
    return {Outcome::retry, "standard output cannot be written", std::nullopt};
  }

 private:
  /// The first line (when, what, where) in colour; the rest plain.
  [[nodiscard]] std::string painted(const Message& message) const {
    if (!colour_ || message.notices.empty()) return message.text;
    const std::size_t end = message.text.find('\n');
    std::string text(colour_of(message.notices.front().notice));
    text.append(message.text, 0, end).append(kPlain);
    return end == std::string::npos ? text : text.append(message.text, end);
  }

  std::FILE* out_;
  bool colour_;
};

}  // namespace

Result<std::unique_ptr<Channel>> make_console(const ChannelSettings&, const ChannelContext& context) {
  return std::make_unique<Console>(context.console);
}

}  // namespace brimwatch
