// The console: one notice after the other, aligned, on standard output. Colour only where a person looks at a terminal
// and has not asked for none (NO_COLOR); the words say everything that the colour says.
#include <string>

#include "adapters/channels/makers.h"
#include "terminal/terminal.h"

namespace brimwatch {
namespace {

Style style_of(const Notice& notice) {
  switch (notice.kind) {
    case NoticeKind::crossed:
    case NoticeKind::volume_arrived:
      return Style::alert;  // bright: it may matter this very minute
    case NoticeKind::loss_limit:
    case NoticeKind::fell_under:
    case NoticeKind::feed_silent:
    case NoticeKind::feed_late:
    case NoticeKind::corrected:
      return Style::warning;
    case NoticeKind::opened_over:
    case NoticeKind::volume_faded:
    case NoticeKind::left_range:
    case NoticeKind::back_inside:
    case NoticeKind::halted:
    case NoticeKind::resumed:
    case NoticeKind::feed_back:
    case NoticeKind::day_end:
    case NoticeKind::self_check:
    case NoticeKind::gain:
      return Style::bold;
  }
  return Style::plain;
}

class Console final : public Channel {
 public:
  explicit Console(std::FILE* out) : out_(out), colour_(colour_wanted(out)) {}

  Delivery send(const Message& message) override {
    const bool written = put(message) && std::fflush(out_) == 0;
    if (written) return {Outcome::delivered, "written", std::nullopt};
    std::clearerr(out_);
    return {Outcome::retry, "standard output cannot be written", std::nullopt};
  }

 private:
  /// The first line (when, what, where) in colour; the rest plain.
  bool put(const Message& message) {
    const std::string text = message.text + "\n";
    if (!colour_ || message.notices.empty()) return write_text(out_, text);
    const std::size_t end = text.find('\n');
    set_style(out_, style_of(message.notices.front().notice));
    const bool begun = write_text(out_, text.substr(0, end));
    set_style(out_, Style::plain);
    return begun && write_text(out_, text.substr(end));
  }

  std::FILE* out_;
  bool colour_;
};

}  // namespace

Result<std::unique_ptr<Channel>> make_console(const ChannelSettings&, const ChannelContext& context) {
  return std::make_unique<Console>(context.console);
}

}  // namespace brimwatch
