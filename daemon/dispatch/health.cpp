#include "dispatch/health.h"

#include <utility>

namespace brimwatch {
namespace {

std::string lost_text(int gone) {
  return std::to_string(gone) + (gone == 1 ? " notice" : " notices") +
         " became too old or were refused meanwhile: `brimwatch journal --deliveries` shows them.";
}

}  // namespace

void Health::delivered(Timestamp now) {
  if (told_) tell_back(now);
  if (!held_) gone_ = 0;
  failures_ = 0;
  since_ = {}, first_failure_ = {};
  told_ = told_lost_ = false;
}

void Health::expired(Timestamp now) {
  gone();
  if (std::exchange(told_lost_, true)) return;
  lost_ = {.channel = channel_, .lost = true, .since = in_trouble() ? since_ : now, .at = now, .reply = {}};
}

void Health::tell_back(Timestamp now) {
  tell({.channel = channel_, .works = true, .some = told_some_, .since = since_, .at = now, .reply = {}, .gone = gone_});
}

void Health::failed(Timestamp now, const Delivery& delivery) {
  const bool for_good = delivery.outcome == Outcome::dead;
  if (failures_++ == 0) first_failure_ = now;
  if (!in_trouble() && (for_good || failures_ >= kFailuresBeforeTrouble)) since_ = first_failure_;
  if (!in_trouble() || told_) return;
  ChannelReport report{.channel = channel_,
                       .refused = for_good,
                       .some = delivery.taken_by_some,
                       .since = since_,
                       .at = now,
                       .reply = delivery.reply};
  // A channel that comes and goes is not told at every turn: the first of what follows on a report waits for its time.
  const bool too_soon = told_at_.is_set() && now - told_at_ < kTellAgainAfter && now >= told_at_;
  if (!too_soon) return tell(std::move(report));
  if (!held_) held_ = std::move(report);
}

void Health::on_time(Timestamp now) {
  if (!held_ || (now - told_at_ < kTellAgainAfter && now >= told_at_)) return;
  ChannelReport report = std::move(*held_);
  report.at = now;
  report.gone = gone_;
  report.now_and_then = !in_trouble();
  const bool down = in_trouble();
  tell(std::move(report));
  told_ = down;  // of one that works again meanwhile no second report is due
  if (!down) gone_ = 0;
}

std::optional<Timestamp> Health::next_wakeup() const {
  return held_ ? std::optional(told_at_ + kTellAgainAfter) : std::nullopt;
}

void Health::hangs(Timestamp now, Timestamp since) {
  if (!in_trouble()) since_ = since;
  if (!told_) tell({.channel = channel_, .since = since_, .at = now, .reply = "no answer, and the attempt does not end"});
}

void Health::tell(ChannelReport report) {
  told_at_ = report.at;
  told_ = true;
  told_some_ = report.some;
  held_.reset();
  report_ = std::move(report);
}

std::optional<ChannelReport> Health::take_report() { return std::exchange(report_ ? report_ : lost_, std::nullopt); }

Notice notice_of(const ChannelReport& report, Date day, int count, std::chrono::seconds offset) {
  Notice notice;
  notice.kind = NoticeKind::self_check;
  notice.count = static_cast<std::uint16_t>(count);
  notice.day = day;
  notice.time = report.at;
  const std::string since = to_clock(report.since, offset);
  if (report.lost) {
    notice.detail = "channel " + report.channel +
                    " did not get notices through before they were too old to be of use, since " + since +
                    ". `brimwatch journal --deliveries` shows them.";
    return notice;
  }
  if (report.now_and_then) {
    notice.detail = std::string(report.some ? "channel " + report.channel + ": some recipients refused" : "channel ") +
                    (report.some      ? " notices"
                     : report.refused ? "refused notices"
                                      : "did not get through") +
                    " from " + since + " on (" + report.reply + "), and it works again. ";
    notice.detail += report.gone == 0 ? "Nothing was lost." : lost_text(report.gone);
    return notice;
  }
  if (report.some) {
    notice.detail = "channel " + report.channel;
    notice.detail += report.works ? ": everybody gets the notices again; some did not since " + since + "."
                                  : ": some recipients refuse notices; since " + since + " (" + report.reply +
                                        "). The others get them. Put the address right, or take it out.";
    return notice;
  }
  if (report.works) {
    notice.detail = "channel works again; it did not get through since " + since + ". ";
    notice.detail += report.gone == 0 ? "Nothing was lost; what waited goes out now." : lost_text(report.gone);
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
