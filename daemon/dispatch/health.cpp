#include "dispatch/health.h"

#include <utility>

namespace brimwatch {

void Health::delivered(Timestamp now) {
  if (told_) {
    tell(
        {.channel = channel_, .works = true, .some = told_some_, .since = since_, .at = now, .reply = {}, .gone = gone_});
  }
  failures_ = 0, gone_ = 0;
  since_ = {}, first_failure_ = {};
  told_ = false;
}

void Health::failed(Timestamp now, const Delivery& delivery) {
  const bool for_good = delivery.outcome == Outcome::dead;
  if (failures_++ == 0) first_failure_ = now;
  if (!in_trouble() && (for_good || failures_ >= kFailuresBeforeTrouble)) since_ = first_failure_;
  // A channel that comes and goes is not told at every turn.
  const bool too_soon = told_at_.is_set() && now - told_at_ < kTellAgainAfter && now >= told_at_;
  if (!in_trouble() || told_ || too_soon) return;
  tell({.channel = channel_,
        .refused = for_good,
        .some = delivery.taken_by_some,
        .since = since_,
        .at = now,
        .reply = delivery.reply});
}

void Health::hangs(Timestamp now, Timestamp since) {
  if (!in_trouble()) since_ = since;
  if (!told_) tell({.channel = channel_, .since = since_, .at = now, .reply = "no answer, and the attempt does not end"});
}

void Health::tell(ChannelReport report) {
  told_at_ = report.at;
  told_ = true;
  told_some_ = report.some;
  report_ = std::move(report);
}

std::optional<ChannelReport> Health::take_report() { return std::exchange(report_, std::nullopt); }

Notice notice_of(const ChannelReport& report, Date day, int count, std::chrono::seconds offset) {
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.count = static_cast<std::uint16_t>(count);
  notice.day = day;
  notice.time = report.at;
  const std::string since = to_clock(report.since, offset);
  if (report.some) {
    notice.detail = "channel " + report.channel;
    notice.detail += report.works ? ": everybody gets the notices again; some did not since " + since + "."
                                  : ": some recipients refuse notices; since " + since + " (" + report.reply +
                                        "). The others get them. Put the address right, or take it out.";
    return notice;
  }
  if (report.works) {
    notice.detail = "channel works again; it did not get through since " + since + ". ";
    notice.detail += report.gone == 0 ? "Nothing was lost; what waited goes out now."
                                      : std::to_string(report.gone) +
                                            " notices became too old or were refused meanwhile: "
                                            "`brimwatch journal --deliveries` shows them.";
    return notice;
  }
  notice.detail = report.refused ? "channel refuses notices; since " : "channel does not get through; since ";
  notice.detail += since;
  if (!report.reply.empty()) notice.detail += " (" + report.reply + ")";
  notice.detail += report.refused ? ". What it refused is not sent again." : ". Notices wait and go out marked as late.";
  notice.detail += " `brimwatch channels try` tests it.";
  return notice;
}

}  // namespace brimwatch
