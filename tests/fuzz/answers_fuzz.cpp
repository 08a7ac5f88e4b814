// Any bytes as what another side answers: Retry-After and dates of HTTP, the lines of an SMTP talk. Waits are bounded,
// and what is said of a delivery is one line.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "adapters/channels/mail/smtp_answer.h"
#include "core/text/retry_after.h"

namespace {

using namespace brimwatch;

void require(bool good) {
  if (!good) std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  constexpr Timestamp kNow{1'764'086'400'000'000'000};
  const auto wait = parse_retry_after(text, kNow);
  require(!wait || (*wait >= std::chrono::seconds(0) && *wait <= std::chrono::hours(24)));
  (void)parse_http_date(text, kNow);

  SmtpTalk talk;
  for (std::string_view rest = text; !rest.empty();) {
    const std::size_t end = rest.find('\n');
    const std::string_view line = rest.substr(0, end);
    if (line.starts_with("> ")) talk.sent(line.substr(2));
    else talk.received(line);
    rest = end == std::string_view::npos ? "" : rest.substr(end + 1);
  }
  if (size > 0) talk.finished = data[0] & 1, talk.body_given = data[0] & 2;
  const Delivery verdict = judge(talk);
  require(verdict.reply.find('\n') == std::string::npos && verdict.reply.find('\0') == std::string::npos);
  require(talk.code >= 0 && talk.code <= 999);
  return 0;
}
